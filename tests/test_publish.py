"""Publishing: whole files only, only what changed, the same bytes whatever the surroundings."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from upkeep.documents import write_atomic
from upkeep.errors import UpkeepError
from upkeep.publish import Order, publish_fleet
from upkeep.records import load_fleet

ROOT = Path(__file__).parents[1]
DEMO = next(path for path in sorted((ROOT / "fleets").iterdir()) if path.is_dir())
TODAY = date(2026, 11, 25)


def hash_tree(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def copy_demo(to: Path) -> Path:
    for path in DEMO.rglob("*.toml"):
        copy = to / path.relative_to(DEMO)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(path.read_bytes())
    return to


def publish(fleet: Path, to: Path, *, pdf: bool = False, today: date = TODAY) -> list[str]:
    reports = publish_fleet(load_fleet(fleet), Order(to=to, today=today, pdf=pdf))
    assert not any(report.failed for report in reports), [r.failed for r in reports]
    return [name for report in reports for name in report.written]


def test_publish_twice_writes_nothing_the_second_time(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    assert publish(fleet, tmp_path / "out")
    before = hash_tree(tmp_path / "out")
    assert publish(fleet, tmp_path / "out") == []
    assert hash_tree(tmp_path / "out") == before


def test_publish_writes_only_the_vessel_whose_record_changed(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    vessels = [vessel for vessel in load_fleet(fleet).vessels if not vessel.editions]
    vessel = vessels[0]
    publish(fleet, tmp_path / "out")
    path = fleet / vessel.file
    path.write_text(path.read_text().replace(f'name = "{vessel.name}"', 'name = "Renamed"', 1))
    written = publish(fleet, tmp_path / "out")
    assert written
    assert {name.split("/")[1].split(".")[0] for name in written} == {vessel.id}


@pytest.mark.slow
def test_publish_gives_the_same_bytes_under_other_seeds_zones_and_orders(tmp_path: Path) -> None:
    trees = []
    for number, (seed, zone, reverse) in enumerate(
        [("0", "UTC", False), ("4711", "Pacific/Auckland", True)]
    ):
        fleet = copy_demo(tmp_path / f"fleet-{number}")
        if reverse:
            for path in (fleet / "vessels").glob("*.toml"):
                path.write_text(reverse_history(path.read_text()))
        out = tmp_path / f"out-{number}"
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(ROOT)}
        subprocess.run(
            [sys.executable, "-m", "upkeep", "publish", str(fleet), "--to", str(out),
             "--today", TODAY.isoformat()],
            check=True, capture_output=True, env=environment,
        )  # fmt: skip
        trees.append({k: v for k, v in hash_tree(out).items() if not k.startswith(".")})
    assert trees[0] == trees[1]


def reverse_history(text: str) -> str:
    """Write the [[last_done]] and [[reading]] tables of a record in reverse order."""
    parts = text.split("\n[[")
    head, tables = parts[0], parts[1:]
    moved = [t for t in tables if t.startswith(("last_done]]", "reading]]"))]
    kept = [t for t in tables if t not in moved]
    return "\n[[".join([head, *kept, *reversed(moved)])


def test_vessel_with_problems_stops_only_herself(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    victim = sorted((fleet / "vessels").glob("*.toml"))[0]
    victim.write_text(victim.read_text() + "\n[[component]]\nid = 7\n")
    run = subprocess.run(
        [sys.executable, "-m", "upkeep", "publish", str(fleet), "--to", str(tmp_path / "out"),
         "--no-pdf"],
        capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert run.returncode == 1
    assert f"{victim.stem} is left out until vessels/{victim.name} is mended" in run.stderr
    feeds = {path.stem for path in (tmp_path / "out" / "feeds").glob("*.ics")}
    assert victim.stem not in feeds
    assert len(feeds) == len(list((fleet / "vessels").glob("*.toml"))) - 1
    assert victim.stem in (tmp_path / "out" / "index.html").read_text()


def test_signed_edition_is_kept_and_printed_again(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    vessel = next(vessel for vessel in load_fleet(fleet).vessels if vessel.editions)
    publish(fleet, tmp_path / "out")
    kept = fleet / "editions" / f"{vessel.id}-{vessel.editions[-1].number}.json"
    assert json.loads(kept.read_text())["title"] == vessel.name
    page = (tmp_path / "out" / "handbooks" / f"{vessel.id}.html").read_bytes()
    path = fleet / vessel.file
    path.write_text(path.read_text().replace(f'name = "{vessel.name}"', 'name = "Renamed"', 1))
    reports = publish_fleet(load_fleet(fleet), Order(to=tmp_path / "out", today=TODAY, pdf=False))
    notes = [note for report in reports for note in report.notes]
    assert notes == [
        f"{vessel.id}: records or texts changed since edition {vessel.editions[-1].number} was "
        "signed; add an [[edition]] to print them"
    ]
    assert (tmp_path / "out" / "handbooks" / f"{vessel.id}.html").read_bytes() == page


@pytest.mark.slow
def test_killed_midway_leaves_whole_files_only(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    whole = tmp_path / "whole"
    publish(fleet, whole)
    wanted = hash_tree(whole)
    command = [sys.executable, "-m", "upkeep", "publish", str(fleet), "--no-pdf",
               "--today", TODAY.isoformat(), "--to"]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    for number in range(8):
        out = tmp_path / f"out-{number}"
        with subprocess.Popen([*command, str(out)], env=environment, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL) as process:  # fmt: skip
            deadline = time.monotonic() + 20
            while not any(out.rglob("*.ics")) and time.monotonic() < deadline:
                pass  # until the first file stands; then kill at a point of its own
            for _ in range(number * 20_000):
                pass
            process.send_signal(signal.SIGKILL)
        for name, digest in hash_tree(out).items():
            if not Path(name).name.startswith("."):
                assert wanted[name] == digest, f"{name} is neither old nor new"


def test_write_atomic_keeps_the_old_file_when_the_disk_refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "feed.ics"
    path.write_bytes(b"old")

    def refuse(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("upkeep.documents.os.fsync", refuse)
    with pytest.raises(UpkeepError, match="No space left"):
        write_atomic(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_an_edition_changed_after_it_was_signed_is_not_printed(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    vessel = next(vessel for vessel in load_fleet(fleet).vessels if vessel.editions)
    publish(fleet, tmp_path / "out")
    kept = fleet / "editions" / f"{vessel.id}-{vessel.editions[-1].number}.json"
    kept.write_text(kept.read_text().replace("Shut the seacock", "Leave the seacock", 1))
    reports = publish_fleet(load_fleet(fleet), Order(to=tmp_path / "new", today=TODAY, pdf=False))
    (failed,) = (report.failed for report in reports if report.failed)
    assert "is not the edition as it was signed" in failed


@pytest.mark.parametrize("name", ["editions", "templates/style.css"])
def test_links_out_of_the_fleet_are_not_followed(tmp_path: Path, name: str) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "style.css").write_text("body { color: red }")
    (fleet / name).parent.mkdir(exist_ok=True)
    (fleet / name).symlink_to(outside if name == "editions" else outside / "style.css")
    reports = publish_fleet(load_fleet(fleet), Order(to=tmp_path / "out", today=TODAY, pdf=False))
    failed = [report.failed for report in reports if report.failed]
    assert failed
    assert all("is a link out of the fleet folder" in text for text in failed)
    assert not list(outside.glob("*.json"))


def test_edition_that_cannot_be_kept_is_said_and_the_book_still_printed(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    (fleet / "editions").write_text("a file where a folder belongs")
    out = tmp_path / "out"
    signed = {vessel.id for vessel in load_fleet(fleet).vessels if vessel.editions}
    for _ in range(2):  # told again until it is mended
        reports = publish_fleet(load_fleet(fleet), Order(to=out, today=TODAY, pdf=False))
        assert not any(report.failed for report in reports)
        told = {report.vessel: report.problem for report in reports if report.problem}
        assert told.keys() == signed
        assert all("the edition's content could not be kept" in text for text in told.values())
    assert all((out / f"handbooks/{name}.html").exists() for name in signed)
    asked = ["publish", str(fleet), "--to", str(out), "--no-pdf", "--today", TODAY.isoformat()]
    run = subprocess.run(
        [sys.executable, "-m", "upkeep", *asked],
        capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert run.returncode == 1
    assert "left out" not in run.stdout
    (fleet / "editions").unlink()
    publish(fleet, out)
    assert {path.name.rsplit("-", 1)[0] for path in (fleet / "editions").iterdir()} == signed


@pytest.mark.slow
def test_a_file_changed_or_made_otherwise_in_the_folder_is_made_again(tmp_path: Path) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    out = tmp_path / "out"
    for path in sorted((fleet / "vessels").glob("*.toml"))[1:]:
        path.unlink()
    publish(fleet, out, pdf=True)
    wanted = hash_tree(out)
    page, printed = next(out.glob("handbooks/*.html")), next(out.glob("handbooks/*-card.pdf"))
    page.write_bytes(page.read_bytes().replace(b"DANGER", b"no harm"))
    assert publish(fleet, out, pdf=True) == [page.relative_to(out).as_posix()]
    printed.write_bytes(printed.read_bytes() + b" ")
    publish(fleet, out, pdf=True)
    assert hash_tree(out) == wanted
    publish_fleet(load_fleet(fleet), Order(to=out, today=TODAY, paper="letter"))
    assert hash_tree(out) != wanted
    publish(fleet, out, pdf=True)
    assert hash_tree(out) == wanted
    (out / ".walkround.json").write_text('{"orange-peel": {"key": 3}, "x": []}')
    assert publish(fleet, out, pdf=True) == []
    assert hash_tree(out) == wanted


def test_a_folder_where_a_page_belongs_is_said_and_the_calendar_still_written(
    tmp_path: Path,
) -> None:
    fleet = copy_demo(tmp_path / "fleet")
    out = tmp_path / "out"
    victim = load_fleet(fleet).vessels[0].id
    (out / f"handbooks/{victim}.html/x").mkdir(parents=True)
    reports = publish_fleet(load_fleet(fleet), Order(to=out, today=TODAY, pdf=False))
    assert {report.vessel for report in reports if report.failed} == {victim}
    assert (out / f"feeds/{victim}.ics").exists()


HOSTILE = [
    "<script>alert(1)</script>",
    "#let x = 1; #panic()",
    "a,b;c\\\\n d",
    "שלום עולם",
    "boat 🚤 café",
    "$x^2$ *b* _i_ `c` @ref <lab>",
]


@pytest.mark.slow
@pytest.mark.parametrize("text", HOSTILE)
def test_text_from_records_is_shown_as_itself(
    text: str, fleet_folder: Callable[..., Path], tmp_path: Path
) -> None:
    from html import unescape

    import icalendar
    from pypdf import PdfReader

    quoted = text.replace('"', '\\"')
    boat = f"""
[vessel]
id = "tern"
name = "{quoted}"
type = "{quoted}"
length_m = 8.2
water = "bay"
flag = "gb"
use = "private"

[[component]]
id = "strainer"
kind = "sea-strainer"
name = "{quoted}"
location = "{quoted}"
marked = "{quoted}"
notes = "{quoted}"
installed = 2026-05-01
"""
    shown = text.replace("\\\\", "\\")
    fleet = fleet_folder(vessels__tern=boat)
    out = tmp_path / "out"
    publish(fleet, out, pdf=True)
    page = (out / "handbooks" / "tern.html").read_text("utf-8")
    assert shown in unescape(page)
    assert "<script>alert" not in page
    calendar = icalendar.Calendar.from_ical((out / "feeds" / "tern.ics").read_bytes())
    assert any(shown in str(event["SUMMARY"]) for event in calendar.walk("VEVENT"))
    printed = "".join(p.extract_text() for p in PdfReader(out / "handbooks" / "tern.pdf").pages)
    if shown.isascii():
        assert "".join(shown.split()) in "".join(printed.split())
