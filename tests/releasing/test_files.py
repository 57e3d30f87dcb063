"""Files come in whole, from a directory or an archive, and nothing else comes with them."""

from __future__ import annotations

import gzip
import io
import os
import stat
import tarfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from service.releasing import files as subject
from service.releasing.failures import NoRoom
from service.releasing.files import (
    FilesRefused,
    Limits,
    lay_out,
    read_archive,
    read_directory,
    write_archive,
)

FILES = {
    "shop.yaml": b"name: A\n",
    "places.yaml": b"places: []\n",
    "connectors.yaml": b"types: []\n",
    "parts/terns.yaml": b"parts: []\n",
}


def zipped(files: dict[str, bytes], **odd: str) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
        for name, target in odd.items():
            member = zipfile.ZipInfo(name)
            member.external_attr = (stat.S_IFLNK | 0o777) << 16
            archive.writestr(member, target)
    return packed.getvalue()


def tarred(files: dict[str, bytes], *odd: tarfile.TarInfo) -> bytes:
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w") as archive:
        for name, data in files.items():
            member = tarfile.TarInfo(name)
            member.size = len(data)
            archive.addfile(member, io.BytesIO(data))
        for member in odd:
            archive.addfile(member)
    return packed.getvalue()


def gzipped(files: dict[str, bytes]) -> bytes:
    return gzip.compress(tarred(files))


PACKERS = pytest.mark.parametrize("pack", [zipped, tarred, gzipped])
Pack = Callable[[dict[str, bytes]], bytes]


@PACKERS
def test_an_archive_gives_its_files(pack: Pack) -> None:
    assert read_archive(pack(FILES)) == FILES


@PACKERS
def test_a_catalog_in_a_folder_of_its_own_is_taken_out_of_it(pack: Pack) -> None:
    assert read_archive(pack({f"catalog-2027/{name}": data for name, data in FILES.items()})) == FILES
    assert read_archive(pack({f"./{name}": data for name, data in FILES.items()})) == FILES


@PACKERS
def test_dot_files_are_passed_over(pack: Pack) -> None:
    more = {".git/config": b"", "parts/.terns.yaml.swp": b"", "__MACOSX/._shop.yaml": b""}
    assert read_archive(pack({**FILES, **more})) == FILES


@PACKERS
def test_an_archive_that_is_cut_short_anywhere_is_refused(pack: Pack) -> None:
    # A tar archive ends with zeros, of which some may be missing: all that it holds is still there.
    whole = pack({**FILES, "parts/more.yaml": os.urandom(5_000)}).rstrip(b"\0")
    for length in {0, 1, 2, 10, *range(100, len(whole), 97), len(whole) - 1}:
        with pytest.raises(FilesRefused):
            read_archive(whole[:length])


@PACKERS
@pytest.mark.parametrize(
    "name",
    ["../shop.yaml", "parts/../../x.yaml", "/etc/x.yaml", "parts//x.yaml", "parts\\x.yaml", "C:/x.yaml", "a/" * 9 + "x"],
)  # fmt: skip
def test_a_name_that_leads_elsewhere_is_refused(pack: Pack, name: str) -> None:
    with pytest.raises(FilesRefused, match="name"):
        read_archive(pack({**FILES, name: b"x"}))


def test_links_and_devices_are_refused() -> None:
    link, hard, device = (tarfile.TarInfo("parts/x.yaml") for _ in range(3))
    link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
    hard.type, hard.linkname = tarfile.LNKTYPE, "shop.yaml"
    device.type = tarfile.CHRTYPE
    for packed in (zipped(FILES, x="/etc/passwd"), *(tarred(FILES, odd) for odd in (link, hard, device))):
        with pytest.raises(FilesRefused, match="plain files"):
            read_archive(packed)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_comes_twice_is_refused() -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name in ("shop.yaml", "shop.yaml"):
            archive.writestr(name, b"x")
    with pytest.raises(FilesRefused, match="twice"):
        read_archive(packed.getvalue())


@PACKERS
def test_an_archive_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(pack: Pack) -> None:
    bomb = pack({**FILES, "parts/x.yaml": bytes(30_000_000)})
    with pytest.raises(FilesRefused):
        read_archive(bomb, Limits(unpacked=1_000_000, files=10))


def test_what_an_archive_says_of_its_size_is_not_believed() -> None:
    packed = bytearray(zipped({"shop.yaml": bytes(1_000_000)}))
    at = packed.rindex(b"PK\x01\x02")
    packed[at + 24 : at + 28] = (10).to_bytes(4, "little")
    with pytest.raises(FilesRefused):
        read_archive(bytes(packed), Limits(unpacked=1_000))


def test_limits_on_size_and_number_hold() -> None:
    many = {f"parts/{number}.yaml": b"" for number in range(11)}
    with pytest.raises(FilesRefused, match="10 files"):
        read_archive(zipped(many), Limits(files=10))
    with pytest.raises(FilesRefused, match="1,000 bytes"):
        read_archive(tarred(FILES), Limits(packed=1_000))


@pytest.mark.parametrize("odd", [b"", b"PK", b"PK\x05\x06", b"\x1f\x8b", b"shop: x\n", bytes(10_240)])
def test_what_is_no_archive_or_an_empty_one_is_refused(odd: bytes) -> None:
    with pytest.raises(FilesRefused):
        read_archive(odd)


def test_the_same_files_give_the_same_archive() -> None:
    backwards = dict(reversed(FILES.items()))
    assert write_archive(FILES) == write_archive(backwards)
    assert read_archive(write_archive(FILES)) == FILES


@pytest.fixture
def directory(tmp_path: Path) -> Path:
    lay_out(FILES, tmp_path / "catalog")
    return tmp_path / "catalog"


def test_a_directory_gives_its_files(directory: Path) -> None:
    (directory / ".git").mkdir()
    assert read_directory(directory) == FILES


def test_a_link_that_leads_out_of_the_directory_is_refused(directory: Path, tmp_path: Path) -> None:
    (tmp_path / "secret.yaml").write_text("x")
    (directory / "parts" / "x.yaml").symlink_to(tmp_path / "secret.yaml")
    with pytest.raises(FilesRefused, match="leads out"):
        read_directory(directory)


@pytest.mark.parametrize("odd", ["dangling", "pipe"])
def test_what_cannot_be_read_is_refused_and_never_waited_for(directory: Path, odd: str) -> None:
    path = directory / "parts" / "x.yaml"
    if odd == "pipe":
        os.mkfifo(path)
    else:
        path.symlink_to("gone.yaml")
    with pytest.raises(FilesRefused):
        read_directory(directory)


def test_a_directory_that_is_too_big_or_missing_is_refused(directory: Path, tmp_path: Path) -> None:
    for limits in (Limits(files=3), Limits(unpacked=10)):
        with pytest.raises(FilesRefused, match="right one"):
            read_directory(directory, limits)
    with pytest.raises(FilesRefused, match="check the path"):
        read_directory(tmp_path / "catalgo")


def changing(monkeypatch: pytest.MonkeyPatch, change: Callable[[int], None], times: int) -> None:
    """Let somebody change the directory each time that a file of it has been read, so many times."""
    read, count = subject._content, 0

    def read_and_change(path: Path, size: int) -> bytes:
        nonlocal count
        data = read(path, size)
        if count < times:
            change(count)
        count += 1
        return data

    monkeypatch.setattr(subject, "_content", read_and_change)


def test_a_directory_that_changes_once_is_read_again(
    directory: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def rename(_: int) -> None:
        (directory / "shop.yaml").write_bytes(b"name: B\n")

    changing(monkeypatch, rename, times=1)
    assert read_directory(directory) == {**FILES, "shop.yaml": b"name: B\n"}


@pytest.mark.parametrize("what", ["written", "removed", "added", "grown"])
def test_a_directory_that_keeps_changing_is_refused(
    directory: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    def change(count: int) -> None:
        path = directory / "parts" / "terns.yaml"
        match what:
            case "written":
                path.write_bytes(b"parts: []\n")
            case "removed" if path.exists():
                path.unlink()
            case "removed":
                path.write_bytes(b"parts: []\n")
            case "added":
                (directory / "parts" / f"x{count}.yaml").touch()
            case "grown":
                with path.open("ab") as file:
                    file.write(b"#")

    changing(monkeypatch, change, times=10_000)
    with pytest.raises(FilesRefused, match="keeps changing"):
        read_directory(directory)


def test_a_full_disk_is_told_as_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(NoRoom):
        lay_out(FILES, tmp_path)


def test_one_name_for_a_file_and_a_folder_is_refused(tmp_path: Path) -> None:
    for files in ({"a": b"", "a/b": b""}, {"a/b": b"", "a": b""}):
        with pytest.raises(FilesRefused, match="both"):
            lay_out(files, tmp_path)
