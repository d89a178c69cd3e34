"""How does a large photograph arrive over a network that breaks?

In parts. Each part is a file of its own, whole and on the disk before it is acknowledged; so
what was acknowledged outlives the server, and what was not is sent again. The next part
begins where those that are there end; whoever is wrong about that is told where. Finished,
the parts are put together, kept and read, and the photograph comes on record. What nobody
goes on with is cleared away when a later one begins.
"""

import json
import os
import secrets
import shutil
import tempfile
import time
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from api.installation import Installation
from api.photograph_files import coming_folder, keep_photograph, require_a_size
from models.actions.photographs import PhotographTold
from models.errors import BadValue, NotFound, RuleBroken
from models.exchange.kept_files import settle, write_to_disk
from models.exchange.kept_photographs import PictureKept
from models.rules.permissions import Deed, require
from models.tables.visible import Viewer
from models.vocabulary import PhotographStage, PhotographView

MOST_PART_BYTES = 4 * 1024 * 1024
# Days for which an upload waits to be gone on with. Default of this project.
WAITS_DAYS = 7
_DAY_S = 86_400
_ABOUT = "about.json"
# What must be left of the disk besides the photograph.
_ROOM_BYTES = 200 * 1024 * 1024


@dataclass(frozen=True, kw_only=True)
class UploadBegun:
    """What was said when an upload began; `person_id` alone may go on with it."""

    person_id: int
    file_name: str
    byte_count: int
    told: PhotographTold


class NotThere(RuleBroken):
    """A part does not begin where those that are there end; `received_bytes` says where."""

    def __init__(self, message: str, received_bytes: int) -> None:
        super().__init__(message, "not_there")
        self.received_bytes = received_bytes


def begin_upload(
    here: Installation, viewer: Viewer, told: PhotographTold, *, file_name: str, byte_count: int
) -> str:
    """Begin an upload and return its key. Raises BadValue, RuleBroken (`no_room`), NotAllowed."""
    require(viewer.role, Deed.PHOTOGRAPH)
    require_a_size(byte_count, "/byte_count")
    folder = coming_folder(here.settings)
    clear_abandoned(folder, time.time())
    if shutil.disk_usage(folder).free < 3 * byte_count + _ROOM_BYTES:
        raise RuleBroken("The disk of the server is full; tell whoever looks after it.", "no_room")
    key = secrets.token_hex(16)
    begun = {
        "person_id": viewer.person_id,
        "file_name": file_name,
        "byte_count": byte_count,
        "told": asdict(told),
    }
    with tempfile.TemporaryDirectory(dir=folder) as bench:
        coming = Path(bench) / key
        coming.mkdir()
        write_to_disk(coming / _ABOUT, json.dumps(begun).encode())
        coming.rename(folder / key)
    settle(folder)
    return key


def upload_begun(here: Installation, viewer: Viewer, key: str) -> UploadBegun:
    """Return what was said of an upload of this person's. Raises NotFound."""
    try:
        about = json.loads((_folder(here, key) / _ABOUT).read_bytes())
    except FileNotFoundError:
        raise NotFound("upload", key) from None
    if about["person_id"] != viewer.person_id:
        raise NotFound("upload", key)
    told = about["told"]
    told["view"] = PhotographView(told["view"])
    told["stage"] = told["stage"] and PhotographStage(told["stage"])
    return UploadBegun(**{**about, "told": PhotographTold(**{**told, "upload_key": key})})


def received_bytes(here: Installation, key: str) -> int:
    """Return how many bytes are there, from the first on without a gap."""
    return sum(part.stat().st_size for part in _parts(_folder(here, key)))


def add_part(here: Installation, viewer: Viewer, key: str, offset: int, content: bytes) -> int:
    """Keep a part and return how many bytes are there. Raises NotFound, NotThere, BadValue."""
    begun = upload_begun(here, viewer, key)
    there = received_bytes(here, key)
    if offset != there:
        raise NotThere(f"{there} bytes are there; go on from byte {there}.", there)
    if not content or there + len(content) > begun.byte_count:
        message = f"A part of {len(content)} bytes cannot be: {begun.byte_count - there} are open."
        raise BadValue.at("", message)
    folder = _folder(here, key)
    with tempfile.TemporaryDirectory(dir=folder.parent) as bench:
        coming = Path(bench) / "part"
        write_to_disk(coming, content)
        try:
            # Under its name at once and only once: two that send the same part cannot mix.
            os.link(coming, folder / _name(offset))
        except FileExistsError:
            there = received_bytes(here, key)
            raise NotThere(f"{there} bytes are there already.", there) from None
    settle(folder)
    return there + len(content)


def put_together(here: Installation, viewer: Viewer, key: str) -> tuple[UploadBegun, PictureKept]:
    """Keep and read what has arrived. Raises NotFound, NotThere, BadValue."""
    begun = upload_begun(here, viewer, key)
    there = received_bytes(here, key)
    if there != begun.byte_count:
        raise NotThere(f"{there} of {begun.byte_count} bytes are there; send the rest.", there)
    folder = _folder(here, key)
    with tempfile.TemporaryDirectory(dir=folder.parent) as bench:
        whole = Path(bench) / "whole"
        with whole.open("wb") as file:
            for part in _parts(folder):
                file.write(part.read_bytes())
        return begun, keep_photograph(here, whole, begun.file_name)


def clear_upload(here: Installation, key: str) -> None:
    """Take an upload away, once its photograph is on record or nobody wants it."""
    shutil.rmtree(_folder(here, key), ignore_errors=True)


def clear_abandoned(folder: Path, now_s: float) -> None:
    """Take away what nobody has gone on with for some days; `now_s` since 1970."""
    for one in folder.iterdir():
        with suppress(FileNotFoundError):
            if now_s - one.stat().st_mtime > WAITS_DAYS * _DAY_S:
                shutil.rmtree(one, ignore_errors=True)


def _folder(here: Installation, key: str) -> Path:
    return coming_folder(here.settings) / key


def _name(offset: int) -> str:
    return f"{offset:012d}"


def _parts(folder: Path) -> list[Path]:
    """Return the parts from the first on, as far as each begins where the one before ends."""
    found, end = [], 0
    while (part := folder / _name(end)).exists():
        found.append(part)
        end += part.stat().st_size
    return found
