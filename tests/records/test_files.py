"""Faults of a whole file: each is one problem, and the other vessels are read."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from upkeep.errors import UpkeepError
from upkeep.records import LoadedFleet, load_fleet

from .boats import FIT_OUT, boat, component

Write = Callable[..., Path]
DEEP = 10_000


def _load(folder: Path) -> LoadedFleet:
    loaded = load_fleet(folder)
    assert [vessel.id for vessel in loaded.vessels] == ["two"]
    return loaded


def _one_problem(folder: Path) -> str:
    (problem,) = _load(folder).problems
    return str(problem)


def _spoil(fleet_folder: Write, text: str | bytes) -> str:
    return _one_problem(fleet_folder(vessels__one=text, vessels__two=boat("two")))


BROKEN = {
    "not UTF-8": (
        b'[vessel]\nid = "one"\nname = "Caf\xe9"\n',
        "3: is not UTF-8 text; save the file as UTF-8",
    ),
    "UTF-16": (boat().encode("utf-16"), "1: is not UTF-8 text; save the file as UTF-8"),
    "a NUL": (b'a = "\x00"\n', "1: is not valid TOML: illegal character '\\x00'"),
    "a day that is none": (
        boat(more='[[last_done]]\ntask = "seacock/exercise"\non = 2026-02-30\n'),
        "18: is not valid TOML: there is no such day or time; write a day of the calendar",
    ),
    "a key twice": (
        "[vessel]\nid = 'one'\nid = 'two'\n",
        "3: is not valid TOML: a key stands twice; keep one of the two",
    ),
    "a table twice": (
        "[vessel]\nid = 'one'\n[owner]\n[vessel]\n",
        "4: is not valid TOML: [vessel] stands twice; keep one, or write [[vessel]] for several",
    ),
    "open quotes": ('a = 1\nb = "x\nc = 2\n', "2: is not valid TOML: a text does not end"),
    "open long quotes": ("a = '''\nb\n\n", "2: is not valid TOML: a text in ''' does not end"),
    "an open list": ("a = 1\nb = [1,\n\n\n", "2: is not valid TOML: invalid value"),
    "a capital True": ("a = True\n", "1: is not valid TOML: invalid value; put text in quotes"),
    "no value": ("a\n", "1: is not valid TOML: a key without a value; write key = value"),
    "brackets": (f"a = 1\nb = {'[' * DEEP}{']' * DEEP}\n", "2: is nested too deeply"),
    "braces": (f"b = {'{a = ' * DEEP}1{'}' * DEEP}\n", "1: is nested too deeply"),
    "brackets Python bears": (f"a = 1\nb = {'[' * 200}{']' * 200}\n", "2: is nested too deeply"),
    "brackets on many lines": ("a = 1\nb = " + "[\n" * 40 + "]\n" * 40, "18: is nested too deeply"),
    "a key of parts": (".".join(["a"] * 100_000) + " = 1\n", "1: holds a key of many parts"),
    "a header of parts": (
        "a = 1\n[" + " . ".join(["'a'"] * 100_000) + "]\n",
        "2: holds a key of many parts",
    ),
    "a number of digits": (f"a = 1\nb = {'9' * 5000}\n", "2: holds a number beyond all bounds"),
    "an empty file": ("", "1: vessel file has no vessel; write a table of keys (the boat)"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_file_is_one_problem(name: str, fleet_folder: Write) -> None:
    text, said = BROKEN[name]
    assert _spoil(fleet_folder, text).startswith(f"vessels/one.toml:{said}")


@pytest.mark.parametrize(
    "encode",
    [
        lambda text: b"\xef\xbb\xbf" + text.encode(),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode(),
    ],
    ids=["BOM", "CRLF", "BOM and CRLF"],
)
def test_marks_of_other_editors_are_accepted(
    encode: Callable[[str], bytes], fleet_folder: Write
) -> None:
    notes = 'notes = """\nfirst\nsecond\n"""\n'
    right = encode(boat("one", notes))
    folder = fleet_folder(vessels__one=right, vessels__two=boat("two"))
    loaded = load_fleet(folder)
    assert not loaded.problems
    assert [v.id for v in loaded.vessels] == ["one", "two"]
    assert loaded.vessels[0].components["seacock"].notes == "first\nsecond"
    wrong = encode(boat("one", f"{notes}zz = 1\n"))
    (folder / "vessels/one.toml").write_bytes(wrong)
    assert _one_problem(folder).startswith("vessels/one.toml:20: unknown key zz;")


def test_file_of_50_mb_is_not_read(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__one=boat(), vessels__two=boat("two"))
    os.truncate(folder / "vessels/one.toml", 50_000_000)
    said = "vessels/one.toml:1: is 50.0 MB; a record is smaller than 2 MB"
    assert _one_problem(folder) == said


def test_link_out_of_the_folder_is_refused(fleet_folder: Write, tmp_path: Path) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    (tmp_path / "one.toml").write_text(boat())
    (folder / "vessels/one.toml").symlink_to(tmp_path / "one.toml")
    said = "vessels/one.toml:1: is a link out of the fleet folder; put the file itself here"
    assert _one_problem(folder) == said


def test_link_inside_the_folder_is_followed(fleet_folder: Write) -> None:
    folder = fleet_folder(elsewhere__one=boat(), vessels__two=boat("two"))
    (folder / "vessels/one.toml").symlink_to("../elsewhere/one.toml")
    assert [vessel.id for vessel in load_fleet(folder).vessels] == ["one", "two"]


def test_link_that_bites_its_tail_is_refused(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    (folder / "vessels/one.toml").symlink_to("one.toml")
    assert _one_problem(folder).startswith("vessels/one.toml:1: is a link")


def test_link_to_nothing_is_refused(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    (folder / "vessels/one.toml").symlink_to("nothing.toml")
    said = "vessels/one.toml:1: is not an ordinary file; put a TOML file here"
    assert _one_problem(folder) == said


def test_folder_of_vessels_outside_is_refused(fleet_folder: Write, tmp_path: Path) -> None:
    folder = fleet_folder()
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "one.toml").write_text(boat())
    (folder / "vessels").symlink_to(outside)
    loaded = load_fleet(folder)
    (problem,) = loaded.problems
    assert problem.message == "is a link out of the fleet folder"
    assert not loaded.vessels


def test_folder_where_a_file_belongs_is_refused(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    (folder / "vessels/one.toml").mkdir()
    assert _one_problem(folder).startswith("vessels/one.toml:1: is not an ordinary file;")


def test_fifo_where_a_file_belongs_is_refused(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    os.mkfifo(folder / "vessels/one.toml")
    assert _one_problem(folder).startswith("vessels/one.toml:1: is not an ordinary file;")


def test_file_that_may_not_be_read_is_refused(
    fleet_folder: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = fleet_folder(vessels__one=boat(), vessels__two=boat("two"))
    read = Path.read_bytes

    def refuse(path: Path) -> bytes:
        if path.name == "one.toml":
            raise PermissionError(13, "Permission denied")
        return read(path)

    monkeypatch.setattr(Path, "read_bytes", refuse)  # the superuser may read everything
    assert "cannot be read (Permission denied)" in _one_problem(folder)


def test_hidden_files_are_left_alone(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    (folder / "vessels/._two.toml").write_bytes(b"\x00\x05\x16\x07")
    (folder / "vessels/.#two.toml").symlink_to("somebody@host.1234")
    assert not _load(folder).problems


@pytest.mark.parametrize("name", ["a\nb", "a\u202eb", "a\x1b[2Jb", "My Boat", "a\udcffb"])
def test_file_name_that_is_no_id_is_one_line(name: str, fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__two=boat("two"))
    (folder / "vessels" / f"{name}.toml").write_text(boat("one"))
    said = _one_problem(folder)
    assert said.isprintable()
    assert said.endswith(".toml; name the file one.toml")


def test_fleet_file_that_cannot_be_read_hides_no_fault_of_a_vessel(fleet_folder: Write) -> None:
    wrong = boat("one", "zz = 1\n[[berth]]\nwater = 'unknowable'\nfrom = 2026-05-01\n")
    folder = fleet_folder(
        **{"fleet.toml": "[fleet\n"}, vessels__one=wrong, vessels__two=boat("two")
    )
    loaded = load_fleet(folder)
    places = [(problem.file, problem.line) for problem in loaded.problems]
    assert places == [("fleet.toml", 1), ("vessels/one.toml", 16)]
    assert loaded.fleet is None
    assert not loaded.vessels
    assert loaded.stopped == {"one": "vessels/one.toml", "two": "fleet.toml"}


def test_fit_out_that_cannot_be_read_stops_those_with_it(fleet_folder: Write) -> None:
    use = (
        '[[fit_out]]\nname = "heating"\nprefix = "heat"\ninstalled = 2026-01-01\n'
        'bind = { sea = "seacock", supply = "bank" }\nset = { unit = { cooling_w = 2000 } }\n'
        '[[last_done]]\ntask = "heat-strainer/clean-basket"\non = 2026-05-01\n'
    )
    bank = component("bank", "lithium-bank", "capacity_ah = 100")
    files = {"vessels__one": boat("one", bank + use), "vessels__two": boat("two")}
    folder = fleet_folder(**files, **{"fit-outs__heating": FIT_OUT})
    assert not load_fleet(folder).problems
    (folder / "fit-outs/heating.toml").write_text("title =\n")
    loaded = _load(folder)
    assert [problem.file for problem in loaded.problems] == ["fit-outs/heating.toml"]
    assert loaded.stopped == {"one": "fit-outs/heating.toml"}


def test_catalogue_that_cannot_be_read_stops_those_that_need_it(fleet_folder: Write) -> None:
    deck = component("deck", "cork-deck", "laid = 2020")
    work = '[[last_done]]\ntask = "deck/look-over"\non = 2026-05-01\n'
    folder = fleet_folder(
        vessels__one=boat("one", deck + work), vessels__two=boat("two"), catalogue__own="x =\n"
    )
    loaded = _load(folder)
    assert [problem.file for problem in loaded.problems] == ["catalogue/own.toml"]
    assert loaded.stopped == {"one": "catalogue/own.toml"}


def test_folder_without_a_fleet_is_said(tmp_path: Path) -> None:
    with pytest.raises(UpkeepError, match=r"has no fleet\.toml"):
        load_fleet(tmp_path)


def test_vessel_that_is_not_there_is_said(fleet_folder: Write) -> None:
    with pytest.raises(UpkeepError, match=r"there is no vessel twoo; did you mean two\?"):
        load_fleet(fleet_folder(vessels__two=boat("two")), ["twoo"])


def test_vessels_asked_for_alone_are_read(fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__one="x =\n", vessels__two=boat("two"))
    assert not load_fleet(folder, ["two"]).problems
