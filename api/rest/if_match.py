"""Does whoever changes a record know its newest state?

`ETag` counts the changes of the stored row, and `If-Match` says which one somebody saw.
Without it a change is refused (428); what cannot be an ETag of ours is refused too (400);
a stale one by the action (412).
"""

import re
from typing import Annotated

from fastapi import Depends, Header
from fastapi.responses import Response

from api.record_versions import BadVersionSeen, NoVersionSeen

_OURS = re.compile(r'"(\d{1,15})"')


def set_etag(response: Response, version: int) -> None:
    """Put the strong ETag of this version on the answer."""
    response.headers["ETag"] = f'"{version}"'


async def _version_seen(if_match: Annotated[str | None, Header()] = None) -> int:
    if if_match is None:
        raise NoVersionSeen('Send If-Match with the ETag that you were given, such as "3".')
    seen = _OURS.fullmatch(if_match.strip())
    if seen is None:
        raise BadVersionSeen('If-Match is the ETag that you were given, such as "3".')
    return int(seen.group(1))


VersionSeen = Annotated[int, Depends(_version_seen)]
