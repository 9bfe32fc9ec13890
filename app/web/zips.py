"""Several files as one ZIP that is written while it is sent, so that it is never held as a whole."""

import io
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from fastapi.responses import StreamingResponse

from app.actions.folders import FolderFile

_PIECE = 1 << 18


class _Pipe(io.RawIOBase):
    """Takes what is written and gives it away in between; no place in it can be sought."""

    def __init__(self) -> None:
        super().__init__()
        self._held = bytearray()

    def writable(self) -> bool:
        return True

    def write(self, content: object) -> int:
        before = len(self._held)
        self._held += content  # type: ignore[arg-type]
        return len(self._held) - before

    def take(self) -> bytes:
        content = bytes(self._held)
        self._held.clear()
        return content


def download_files(files: Sequence[tuple[Path, str]], day: date, file_name: str) -> StreamingResponse:
    """Send files, each with its SHA-256, as one ZIP in which every entry is of one day: the same files, the same bytes.

    A list of the SHA-256 is added, as the usual programs read it. file_name is one of our own, plain ASCII.
    """
    return download_named([FolderFile(path.name, path, sha256, day) for path, sha256 in files], file_name)


def download_named(
    files: Sequence[FolderFile], file_name: str, texts: dict[str, str] | None = None
) -> StreamingResponse:
    """Send files under names of their own as one ZIP, with the list of their SHA-256, and texts by name."""
    headers = {"Content-Disposition": f'attachment; filename="{file_name}"', "Content-Encoding": "identity"}
    return StreamingResponse(_pieces(files, texts or {}), media_type="application/zip", headers=headers)


def _pieces(files: Sequence[FolderFile], texts: dict[str, str]) -> Iterator[bytes]:
    pipe, last = _Pipe(), max((each.day for each in files), default=date(1980, 1, 1))
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_STORED) as archive:  # a PDF is compressed already
        for each in files:
            with each.path.open("rb") as file, archive.open(_info(each.name, each.day), "w") as entry:
                while piece := file.read(_PIECE):
                    entry.write(piece)
                    yield pipe.take()
        sums = "".join(f"{each.sha256}  {each.name}\n" for each in files)
        for name, text in {"SHA256SUMS": sums, **texts}.items():
            archive.writestr(_info(name, last), text)
    yield pipe.take()


def _info(name: str, day: date) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, (max(day.year, 1980), day.month, day.day, 0, 0, 0))
    info.external_attr = 0o644 << 16
    return info
