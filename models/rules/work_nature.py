"""Which ways to harm lie in the work itself, whatever package it is in?

Groundwood paper browns of itself, paper foxes, silver tarnishes and the dyes of
an inkjet print fade in ozone where no seal keeps the air out, a photograph stuck
to acrylic sheet comes loose from it, and an inkjet print on a barrier paper that
was glazed before it was dry fogs its glazing.

What is not on record: a work whose technique nobody knows counts as paper. An
inkjet print fogs unless its support is known to let it dry (rag, Japanese or
other uncoated paper), and only where the day of printing is known to the month
and the mounting may have followed within 14 days. Which inks an inkjet print
has is said by its technique; one that says neither pigment nor dye may have dyes.
"""

from models.rules.package_facts import PackageFacts, WorkFacts
from models.vocabulary import LayerRole, ProcessGroup

OWN_AGEING = "groundwood support"
FOXING = "by damp clock from 60 %"
TARNISH = "unsealed silver or dye inkjet"
FACE_MOUNT = "colour photograph on acrylic sheet"
FOGGING = "inkjet on barrier paper framed before it was dry"

# Makers ask for days to weeks of drying before glazing; common practice, no source.
DRY_AFTER_DAYS = 14
_KNOWN_TO_DAYS = 31

_FACE_MOUNTED = "face-mounted"
# Supports that are no paper: words in the technique or the support as recorded.
_NO_PAPER = ("daguerreotype", "tintype", "glass plate", "film negative", "parchment", "on acrylic")
_LETS_IT_DRY = frozenset({"rag", "cotton", "japanese", "washi", "uncoated", "wove", "laid"})
_SILVER = frozenset(
    {
        ProcessGroup.SILVER_PHOTOGRAPH,
        ProcessGroup.ALBUMEN,
        ProcessGroup.SALTED_PAPER,
        ProcessGroup.COLLODION,
    }
)


def can_fox(work: WorkFacts) -> bool:
    """Say whether the work is on paper, as far as anybody knows."""
    return not is_face_mounted(work) and not any(word in _said(work) for word in _NO_PAPER)


def is_face_mounted(work: WorkFacts, package: PackageFacts | None = None) -> bool:
    """Say whether a photograph is stuck to acrylic sheet by its image."""
    by_method = package is not None and package.method == _FACE_MOUNTED
    return by_method or work.technique.startswith(_FACE_MOUNTED)


def tarnishes(work: WorkFacts) -> bool:
    """Say whether air harms the image: silver, or dyes of an inkjet print."""
    if work.process_group == ProcessGroup.INKJET:
        return "pigment" not in work.technique
    return work.process_group in _SILVER


def fogs_glazing(work: WorkFacts, package: PackageFacts) -> bool:
    """Say whether an inkjet print on barrier paper may have been glazed before it was dry."""
    if work.process_group != ProcessGroup.INKJET or _glazing_missing(package):
        return False
    words = frozenset(work.support.lower().replace(",", " ").split())
    if "resin-coated" not in words and words & _LETS_IT_DRY:
        return False
    return _may_have_followed_at_once(work, package)


def _may_have_followed_at_once(work: WorkFacts, package: PackageFacts) -> bool:
    made, made_by, mounted = work.made_first_day, work.made_last_day, package.mounted_day
    if made is None or made_by is None or mounted is None or package.mounted_is_assumed:
        return False
    mounted_by = mounted if package.mounted_last_day is None else package.mounted_last_day
    is_known = made_by - made < _KNOWN_TO_DAYS
    return is_known and mounted - made_by <= DRY_AFTER_DAYS and mounted_by >= made


def _glazing_missing(package: PackageFacts) -> bool:
    return all(layer.role is not LayerRole.GLAZING for layer in package.layers)


def _said(work: WorkFacts) -> str:
    return f"{work.technique} {work.support}".lower()
