"""A catalog's files as one value: taken from a directory or an archive, and never read half."""

from __future__ import annotations

import errno
import gzip
import io
import stat
import tarfile
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from service.releasing.failures import NoRoom

Files = Mapping[str, bytes]
"""Content by path, with `/` between its steps."""

READS = 3
"""How often a directory is read that changes meanwhile."""

_DEEPEST, _LONGEST = 8, 400
_ROOT_FILES = frozenset({"shop.yaml", "places.yaml", "connectors.yaml"})
_CHUNK = 1 << 20
_TAR_END = bytes(2 * tarfile.BLOCKSIZE)
_EPOCH = (1980, 1, 1, 0, 0, 0)


class FilesRefused(Exception):  # noqa: N818 -- "refused" is the word for it, as for a catalog
    """A directory or an archive cannot be taken in. Its text says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The most that is taken in [bytes, files]. An archive can unpack to a thousand times its size."""

    packed: int = 64_000_000
    unpacked: int = 200_000_000
    files: int = 20_000


def read_directory(directory: Path, limits: Limits | None = None) -> Files:
    """Read a directory, all of it as it is at one moment.

    Raises:
        FilesRefused: It is none, a link leads out of it, it is too big, or it kept changing while it was read.
    """
    most = limits or Limits()
    if not directory.is_dir():
        raise FilesRefused("this is not a directory; check the path")
    for _ in range(READS):
        before = _signs(directory, most)
        files = _contents(directory, before, most)
        if (
            files is not None
            and _signs(directory, most) == before
            and _contents(directory, before, most) == files
        ):
            return files
    raise FilesRefused(
        "the directory keeps changing while it is read; wait until nobody writes to it, and try again"
    )


_Signs = Mapping[str, tuple[int, int, int]]


def _signs(directory: Path, limits: Limits) -> _Signs:
    found = {}
    for path in _walk(directory, directory.resolve()):
        try:
            told = path.stat()
        except OSError as error:
            raise FilesRefused(
                f"{_named(path, directory)} cannot be read; check the link and the permissions"
            ) from error
        if not stat.S_ISREG(told.st_mode):
            raise FilesRefused(f"{_named(path, directory)} is no plain file")
        found[_named(path, directory)] = (told.st_size, told.st_mtime_ns, told.st_ino)
        if len(found) > limits.files:
            raise FilesRefused(f"the directory has more than {limits.files:,} files; is it the right one?")
    return found


def _walk(folder: Path, root: Path) -> Iterator[Path]:
    try:
        paths = sorted(folder.iterdir())
    except FileNotFoundError:
        # It has just been removed; the second look will differ.
        return
    for path in paths:
        if path.name.startswith("."):
            continue
        if not path.resolve().is_relative_to(root):
            raise FilesRefused(
                f"{path.name} is a link that leads out of the directory; put a copy of the file here"
            )
        if path.is_dir():
            yield from _walk(path, root)
        else:
            yield path


def _named(path: Path, directory: Path) -> str:
    return path.relative_to(directory).as_posix()


def _contents(directory: Path, signs: _Signs, limits: Limits) -> Files | None:
    if sum(size for size, _, _ in signs.values()) > limits.unpacked:
        raise FilesRefused(f"the directory holds more than {limits.unpacked:,} bytes; is it the right one?")
    try:
        files = {name: _content(directory / name, size) for name, (size, _, _) in signs.items()}
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FilesRefused("a file of the directory cannot be read; check the permissions") from error
    for name in files:
        _check_name(name)
    return files


def _content(path: Path, size: int) -> bytes:
    with path.open("rb") as file:
        # One byte more than expected shows that the file has grown.
        return file.read(size + 1)


def read_archive(content: bytes, limits: Limits | None = None) -> Files:
    """Read a ZIP archive, or a tar archive, compressed by gzip or not.

    Raises:
        FilesRefused: It is none of these, cut short, encrypted, unpacks to too much, or names a path that leads
            out of it, a link, or a name twice.
    """
    most = limits or Limits()
    if len(content) > most.packed:
        raise FilesRefused(f"the archive has more than {most.packed:,} bytes")
    files: dict[str, bytes] = {}
    for name, data in _members(content, most):
        if name in files:
            raise FilesRefused("the archive holds a name twice; pack it anew")
        files[name] = data
        if len(files) > most.files:
            raise FilesRefused(f"the archive holds more than {most.files:,} files")
    if not files:
        raise FilesRefused("the archive holds no files")
    return _without_wrapping(files)


def _members(content: bytes, limits: Limits) -> Iterator[tuple[str, bytes]]:
    try:
        if content[:2] == b"PK":
            yield from _from_zip(content, limits)
        else:
            yield from _from_tar(_unzipped(content, limits), limits)
    except (
        zipfile.BadZipFile, tarfile.TarError, EOFError, OSError, ValueError, zlib.error, NotImplementedError, RuntimeError,
    ) as error:  # fmt: skip
        raise FilesRefused(
            "this is no whole ZIP or tar archive, or it is packed in a way that is not read here; upload it again"
        ) from error


def _from_zip(content: bytes, limits: Limits) -> Iterator[tuple[str, bytes]]:
    left = limits.unpacked
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        members = archive.infolist()
        if len(members) > limits.files * 2:
            raise FilesRefused(f"the archive holds more than {limits.files:,} files")
        for member in members:
            kind = stat.S_IFMT(member.external_attr >> 16)
            if member.is_dir() or _is_passed_over(member.filename):
                continue
            if kind not in (0, stat.S_IFREG):
                raise FilesRefused("the archive holds a link or a device; pack plain files")
            with archive.open(member) as file:
                data = _taken(file.read, left)
            left -= len(data)
            yield _check_name(member.filename), data


def _unzipped(content: bytes, limits: Limits) -> bytes:
    if content[:2] != b"\x1f\x8b":
        return content
    # Read to its end, so that its check sum is compared.
    with gzip.GzipFile(fileobj=io.BytesIO(content)) as file:
        return _taken(file.read, limits.unpacked + limits.files * 2 * tarfile.BLOCKSIZE)


def _from_tar(content: bytes, limits: Limits) -> Iterator[tuple[str, bytes]]:
    if not content.endswith(_TAR_END):
        raise EOFError
    left = limits.unpacked
    with tarfile.open(fileobj=io.BytesIO(content), mode="r:") as archive:
        for member in archive:
            if member.isdir() or _is_passed_over(member.name):
                continue
            if not member.isreg() or member.issparse():
                raise FilesRefused("the archive holds a link or a device; pack plain files")
            file = archive.extractfile(member)
            data = _taken(file.read, left) if file else b""
            if len(data) != member.size:
                raise EOFError
            left -= len(data)
            yield _check_name(member.name), data


def _taken(read: Callable[[int], bytes], most: int) -> bytes:
    # What an archive says of its size is not believed.
    parts, taken = [], 0
    while part := read(_CHUNK):
        taken += len(part)
        if taken > most:
            raise FilesRefused("the archive unpacks to more than is taken in")
        parts.append(part)
    return b"".join(parts)


def _is_passed_over(name: str) -> bool:
    # Dot-files, and what some systems put beside every file that they pack.
    steps = name.removeprefix("./").split("/")
    return any(step.startswith(".") and step not in (".", "..") for step in steps) or steps[0] == "__MACOSX"


def _check_name(name: str) -> str:
    path = name.removeprefix("./")
    steps = path.split("/")
    is_odd = "\\" in path or not path.isprintable() or len(path) > _LONGEST or len(steps) > _DEEPEST
    if is_odd or any(step in ("", ".", "..") for step in steps) or ":" in steps[0]:
        raise FilesRefused("a file has a name that leads elsewhere, or that not every system can hold")
    return path


def _without_wrapping(files: dict[str, bytes]) -> Files:
    """Take a catalog out of the one folder that it was packed in."""
    tops = {PurePosixPath(name).parts[0] for name in files}
    if len(tops) != 1 or not any(name.split("/", 1)[-1] in _ROOT_FILES for name in files):
        return files
    (top,) = tops
    return {name.removeprefix(f"{top}/"): data for name, data in files.items()}


def write_archive(files: Files) -> bytes:
    """Pack files: the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            member = zipfile.ZipInfo(name, _EPOCH)
            member.compress_type = zipfile.ZIP_DEFLATED
            member.external_attr = (stat.S_IFREG | 0o644) << 16
            archive.writestr(member, files[name])
    return packed.getvalue()


def lay_out(files: Files, into: Path) -> None:
    """Write files to a directory.

    Raises:
        NoRoom: The disk is full.
        FilesRefused: One name is both a file and a folder.
    """
    try:
        for name, data in files.items():
            path = into / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
    except (FileExistsError, NotADirectoryError, IsADirectoryError) as error:
        raise FilesRefused("one name is both a file and a folder") from error
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            raise NoRoom from error
        raise FilesRefused("a file has a name that not every system can hold") from error
