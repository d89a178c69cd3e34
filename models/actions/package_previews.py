"""What would a planned package do to a work of a technique on record? Nothing is stored.

The technique says how the surface behaves, how it bears light and what the image is
made of, unless the plan says it; a technique that is not on record is refused with near ones.
"""

from dataclasses import replace
from datetime import date

from sqlmodel import Session

from models.actions.in_force import figures_now
from models.errors import UnknownWord
from models.rules.near_words import near_words, same_but_for_case
from models.rules.package_preview import (
    MountPlanned,
    PackagePlan,
    PackagePreview,
    WorkPlanned,
    preview_package,
)
from models.tables.register import techniques
from models.tables.terms import mount_methods
from models.tables.works import Technique


def preview_of(session: Session, plan: PackagePlan, *, today: date) -> PackagePreview:
    """Return what the plan would do. Raises BadValue with every value that cannot be right."""
    told = replace(
        plan,
        work=_of_its_technique(session, plan.work),
        mount=_of_its_method(session, plan.mount),
    )
    return preview_package(told, figures=figures_now(session), today=today)


def _of_its_method(session: Session, mount: MountPlanned) -> MountPlanned:
    """Return the mount with what its method says, where it is on record: whether it floats."""
    methods = {method.name: method for method in mount_methods(session)} if mount.method else {}
    known = same_but_for_case(mount.method, methods)
    return mount if known is None else replace(mount, floats=methods[known].floats)


def _of_its_technique(session: Session, work: WorkPlanned) -> WorkPlanned:
    if not work.technique:
        return work
    technique = _technique(session, work.technique)
    return replace(
        work,
        light_class=technique.light_class if work.light_class is None else work.light_class,
        process_group=work.process_group or technique.process_group,
        surface=work.surface or technique.surface,
    )


def _technique(session: Session, name: str) -> Technique:
    known = {technique.name: technique for technique in techniques(session)}
    found = name if name in known else same_but_for_case(name, known)
    if found is None:
        raise UnknownWord("technique", name, near_words(name, known), "/work/technique")
    return known[found]
