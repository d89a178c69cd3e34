"""Which packages does the house build every day?

A usual build has a name and is told in the words of a mount, layer by layer. A
change is a new edition; packages built before keep the edition they were built
by. It names no lots: the lot in use is taken when it is built.
"""

from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from models.actions.named_records import refuse_taken_name
from models.actions.record_changes import flush_unless_taken, key_of, lock, write
from models.actions.visit_words import mount_meant
from models.errors import BadValue, Fault, NotFound, RuleBroken
from models.rules.default_figures import DefaultFigures
from models.rules.house_build import build_text, read_build
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults, a_name, a_note
from models.rules.visit_as_told import MountTold
from models.tables.materials import HousePackage
from models.tables.visible import Viewer
from models.vocabulary import LayerRole

LONGEST_PACKAGE_NAME = 100


@dataclass(frozen=True, kw_only=True)
class HousePackageOnRecord:
    """An edition of a usual build as it is shown."""

    id: int
    name: str
    edition: int
    ended: bool
    build: MountTold


def add_house_package(
    session: Session,
    viewer: Viewer,
    name: str,
    build: MountTold,
    *,
    defaults: DefaultFigures,
    at: str = "",
) -> HousePackageOnRecord:
    """Add a usual build; faults in it stand below `at`.

    Raises BadValue, UnknownWord, RuleBroken (`name_taken`).
    """
    require(viewer.role, Deed.KEEP_HOUSE_PACKAGES)
    kept = _name(name)
    text = _checked(session, build, defaults, at)
    refuse_taken_name(session, HousePackage, kept, kind="house package")
    return _add_edition(session, kept, 1, text)


def renew_house_package(
    session: Session,
    viewer: Viewer,
    package_id: int,
    build: MountTold,
    *,
    defaults: DefaultFigures,
    at: str = "",
) -> HousePackageOnRecord:
    """Add a new edition of a usual build, which ends the one before it.

    Raises NotFound, BadValue, UnknownWord, RuleBroken (`not_current`).
    """
    require(viewer.role, Deed.KEEP_HOUSE_PACKAGES)
    package = _lock_current(session, package_id)
    text = _checked(session, build, defaults, at)
    write(package, {"ended": True})
    session.flush()
    editions = select(func.max(HousePackage.edition)).where(HousePackage.name == package.name)
    return _add_edition(session, package.name, (session.exec(editions).one() or 0) + 1, text)


def end_house_package(session: Session, viewer: Viewer, package_id: int) -> HousePackageOnRecord:
    """Offer a usual build no more; what was built by it stays. Raises NotFound, RuleBroken."""
    require(viewer.role, Deed.KEEP_HOUSE_PACKAGES)
    package = _lock_current(session, package_id)
    write(package, {"ended": True})
    session.flush()
    return _shown(package)


def list_house_packages(
    session: Session, viewer: Viewer, *, current_only: bool = True
) -> list[HousePackageOnRecord]:
    """Return the usual builds by name, the newest edition first."""
    require(viewer.role, Deed.READ)
    found = select(HousePackage)
    if current_only:
        found = found.where(~col(HousePackage.ended))
    rows = session.exec(found).all()
    return [_shown(row) for row in sorted(rows, key=lambda row: (row.name, -row.edition))]


def read_house_package(session: Session, viewer: Viewer, package_id: int) -> HousePackageOnRecord:
    """Return one edition of a usual build. Raises NotFound."""
    require(viewer.role, Deed.READ)
    package = session.get(HousePackage, package_id)
    if package is None:
        raise NotFound("house package", package_id)
    return _shown(package)


def _name(name: str) -> str:
    faults = Faults()
    kept = faults.read("/name", a_name("name of the package", LONGEST_PACKAGE_NAME), name)
    faults.refuse()
    assert kept is not None, "a missing name was refused"
    return kept


def _checked(session: Session, build: MountTold, defaults: DefaultFigures, at: str) -> str:
    """Return the build as it is kept; every word of it is on record."""

    def kept(told: MountTold) -> str:
        _refuse_lots(told)
        _refuse_two_works(told)
        mount_meant(session, told, defaults)
        return a_note(build_text(told))

    faults = Faults()
    text = faults.read(at, kept, build)
    faults.refuse()
    assert text is not None, "a build with a fault was refused"
    return text


def _refuse_lots(build: MountTold) -> None:
    message = "A house package names no lot: the lot in use is taken when it is built."
    named = [f"/layers/{n}/lot" for n, layer in enumerate(build.layers) if layer.lot is not None]
    named += [f"/holds/{n}/lot" for n, hold in enumerate(build.holds) if hold.lot is not None]
    if named:
        raise BadValue(message, [Fault(pointer, message) for pointer in named])


def _refuse_two_works(build: MountTold) -> None:
    works = [n for n, layer in enumerate(build.layers) if layer.role is LayerRole.WORK]
    if len(works) > 1:
        message = "A house package has one place for a work."
        raise BadValue(message, [Fault(f"/layers/{n}", message) for n in works[1:]])


def _lock_current(session: Session, package_id: int) -> HousePackage:
    package = lock(session, HousePackage, package_id, "house package")
    if package.ended:
        raise RuleBroken(
            f"Edition {package.edition} of {package.name!r} is not the current one.", "not_current"
        )
    return package


def _add_edition(session: Session, name: str, edition: int, build: str) -> HousePackageOnRecord:
    package = HousePackage(name=name, edition=edition, build=build)
    session.add(package)
    taken = RuleBroken(f"The house package {name!r} is on record already.", "name_taken")
    indexes = ("uq_house_package_name_edition", "uq_house_package_current_name")
    flush_unless_taken(session, indexes, taken)
    return _shown(package)


def _shown(package: HousePackage) -> HousePackageOnRecord:
    return HousePackageOnRecord(
        id=key_of(package),
        name=package.name,
        edition=package.edition,
        ended=package.ended,
        build=read_build(package.build),
    )
