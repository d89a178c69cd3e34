"""Which state of a record did somebody see before they changed it?"""

from models.errors import HingebookError


class NoVersionSeen(HingebookError):
    """Whoever changes a record did not say which state they saw."""

    code = "no_version_seen"


class BadVersionSeen(HingebookError):
    """What was given as the state seen is no ETag of ours."""

    code = "bad_version_seen"
