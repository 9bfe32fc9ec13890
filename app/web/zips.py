"""Several files as one ZIP that is written while it is sent, so that it is never held as a whole."""

import io
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from fastapi.responses import StreamingResponse

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
    headers = {"Content-Disposition": f'attachment; filename="{file_name}"', "Content-Encoding": "identity"}
    return StreamingResponse(_pieces(files, day), media_type="application/zip", headers=headers)


def _pieces(files: Sequence[tuple[Path, str]], day: date) -> Iterator[bytes]:
    pipe, moment = _Pipe(), (max(day.year, 1980), day.month, day.day, 0, 0, 0)
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_STORED) as archive:  # a PDF is compressed already
        for path, _ in files:
            with path.open("rb") as file, archive.open(zipfile.ZipInfo(path.name, moment), "w") as entry:
                while piece := file.read(_PIECE):
                    entry.write(piece)
                    yield pipe.take()
        sums = "".join(f"{sha256}  {path.name}\n" for path, sha256 in files)
        archive.writestr(zipfile.ZipInfo("SHA256SUMS", moment), sums)
    yield pipe.take()
