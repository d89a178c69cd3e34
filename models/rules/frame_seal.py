"""Is the work in a frame, and does a whole seal close it?

A package with glazing or a frame is framed. It is sealed when a sealing tape is
on record among its layers; one that nobody wrote down is none, since an unknown
seal keeps out nothing that anybody could count on. A package in which neither is
listed is not counted as framed: what nobody knows of it is judged by its boards
and its hold, which weigh more than a missing seal.
"""

from models.rules.package_facts import LayerFacts, PackageFacts
from models.vocabulary import LayerRole

_FRAMED = frozenset({LayerRole.GLAZING, LayerRole.FRAME})


def is_framed(package: PackageFacts) -> bool:
    """Say whether glazing or a frame is listed."""
    return any(layer.role in _FRAMED for layer in package.layers)


def has_frame(package: PackageFacts) -> bool:
    """Say whether the package is one that a seal could close.

    Of a planned package only a listed frame says so: what is not listed does not exist.
    """
    if package.is_recorded:
        return is_framed(package)
    return any(layer.role is LayerRole.FRAME for layer in package.layers)


def seal_of(package: PackageFacts) -> LayerFacts | None:
    """Return the tape that closes the package, None where none is on record."""
    seals = [layer for layer in package.layers if layer.role is LayerRole.SEALING_TAPE]
    return seals[0] if seals else None
