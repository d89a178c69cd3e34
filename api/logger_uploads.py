"""How does a logger file that somebody sends come onto the disk, and how is it read?

Before any transaction: what is slow never holds up whoever wants to write.
"""

from datetime import datetime
from pathlib import Path

from starlette.datastructures import UploadFile

from api.installation import Installation
from api.settings import Settings
from models.actions.climate import FileSent
from models.errors import BadValue, NotFound
from models.exchange.kept_files import keep_file, kept_file
from models.exchange.logger_file import Choices, LoggerFile
from models.exchange.read_apart import read_apart

# Five years at five minutes, in the most talkative format.
MOST_FILE_BYTES = 48 * 1024 * 1024
LOGGER_FILES = "logger-files"
# Where a machine keeps the name of its own zone.
_ZONE_OF_MACHINE = Path("/etc/localtime")


def keep_upload(here: Installation, upload: UploadFile) -> FileSent:
    """Keep a file as it was sent. Raises BadValue for an empty one."""
    content = upload.file.read()
    if not content:
        raise BadValue.at(
            "/file", "No file was sent, or an empty one.", "Choose the logger's file."
        )
    digest = keep_file(logger_folder(here.settings), content)
    name = Path(upload.filename or "").name[:300]
    return FileSent(name=name, digest=digest, byte_count=len(content))


def read_kept(here: Installation, digest: str, choices: Choices) -> LoggerFile:
    """Return what a kept file says. Raises NotFound, BadValue."""
    return read_apart(path_of_kept(here, digest), choices)


def path_of_kept(here: Installation, digest: str) -> Path:
    """Return where a file is kept. Raises NotFound."""
    file = kept_file(logger_folder(here.settings), digest)
    if file is None:
        raise NotFound("file", digest[:12])
    return file


def time_zone_of(settings: Settings) -> str:
    """Return the name of the zone where the installation is; UTC where the machine tells none."""
    if settings.time_zone:
        return settings.time_zone
    name = str(_ZONE_OF_MACHINE.resolve()).partition("zoneinfo/")[2]
    return name or "UTC"


def latest_second(now: datetime) -> int:
    """Return the last second that a reading may be of: loggers run a day ahead at most."""
    return int(now.timestamp()) + 86_400


def logger_folder(settings: Settings) -> Path:
    """Return the folder in which the files of loggers are kept."""
    return settings.data / LOGGER_FILES
