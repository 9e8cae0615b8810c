"""Handbook and first-minutes card as PDF. Owns the typesetting library.

The files follow PDF/UA-1 (ISO 14289-1). Same input, same bytes; only a sign that none of the
bundled fonts holds is set in a font of the machine, or named in words where that has none.
"""

from __future__ import annotations

import json
import re
import tempfile
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from functools import lru_cache
from importlib.resources import files
from itertools import count
from pathlib import Path
from typing import Any, Literal, cast

from upkeep.errors import UpkeepError
from upkeep.render.outline import list_photos, outline
from upkeep.render.pictures import sniff

Paper = Literal["a4", "letter"]
HANDBOOK = "handbook.typ"
CARD = "card.typ"
_SHARED = "book.typ"
_MAIN = "main.typ"  # the name the library wants for the file it starts from
_DATA = "data.json"
_NO_OVERRIDES: Mapping[str, str] = {}
_PAPERS = {"a4": "a4", "letter": "us-letter"}
# Signs the bundled fonts are known to hold (a test sets them all); others are tried first.
KNOWN = (
    "\t\n\r -~\xa0-\xac\xae-\u017f\u0391-\u03a1\u03a3-\u03c9\u0410-\u044f"
    "\u2010-\u2015\u2018-\u201e\u2020-\u2022\u2026\u2030\u2032\u2033\u20ac"
    "\u2190-\u2193\u2212\u2260\u2264\u2265"
)
_RARE = re.compile(f"[^{KNOWN}]")
_CONTROL = re.compile(r"(?<!\\)((?:\\\\)*)\\(?:u00(?:0[0-8bcef]|1[0-9a-f])|[bf])")
_CONTROL_MARKS = (r"\u00", r"\b", r"\f")
_PACKAGE = re.compile(r"@[\w-]+/[\w-]+:\d")
_UNSHOWN = re.compile(r'the text `"(.*?)"` could not be displayed')
_ESCAPE = re.compile(r"\\u\{([0-9a-f]+)\}")
_PROBE = b"""#set document(title: "signs")
#for sign in json("data.json") { par(text(font: "Libertinus Serif", sign)) }
"""


_CALLS = count()  # of this process
_AGES = 11  # the library forgets what it has not used in its last ten calls (measured)
_ANY_DAY = datetime(2000, 1, 1, tzinfo=UTC)  # of documents nobody keeps
_NOTHING = b"#set page(width: 1pt, height: 1pt)"


@dataclass(frozen=True, kw_only=True, slots=True)
class _Job:
    """What one call sets in type: the sources, the data as JSON text, the photographs."""

    main: str
    sources: Mapping[str, bytes]
    text: str
    pictures: Mapping[str, bytes]
    created: datetime


def render_pdf(
    book: Mapping[str, Any],
    *,
    photos: Mapping[str, bytes],
    paper: Paper,
    created: date,
    overrides: Mapping[str, str] = _NO_OVERRIDES,
) -> bytes:
    """Set a whole book as PDF.

    book: the JSON form of blocks.Book. photos: file name to PNG or JPEG bytes; one that is
    missing, is neither or cannot be read is replaced by a sentence. created: the day the file
    says it was made, kept at midnight UTC. overrides: template name to source, of a fleet's own
    templates that shadow ours; they reach no file but these and the photographs.
    Raises UpkeepError when a fleet's template fails, ValueError on a paper we do not have.
    """
    return _render(HANDBOOK, book, photos, paper=paper, created=created, overrides=overrides)


def render_card(
    book: Mapping[str, Any],
    *,
    paper: Paper,
    created: date,
    overrides: Mapping[str, str] = _NO_OVERRIDES,
) -> bytes:
    """Set the first chapter alone as PDF: one sheet a page, in large type, without photographs.

    Raises as render_pdf does.
    """
    alone = {**book, "chapters": book["chapters"][:1]}
    return _render(CARD, alone, {}, paper=paper, created=created, overrides=overrides)


def _render(
    main: str,
    book: Mapping[str, Any],
    photos: Mapping[str, bytes],
    *,
    paper: Paper,
    created: date,
    overrides: Mapping[str, str],
) -> bytes:
    if paper not in _PAPERS:
        raise ValueError(f"{paper=}, not one of {sorted(_PAPERS)}")
    if next(_CALLS):
        _forget()
    names = {
        file: f"photo-{place}.{kind}"
        for place, file in enumerate(list_photos(book))
        if (kind := sniff(photos.get(file, b"")))
    }
    data = {"book": outline(book), "paper": _PAPERS[paper], "photos": names}
    job = _Job(
        main=main,
        sources=_gather(main, overrides),
        text=_write_json(data),
        pictures={name: photos[file] for file, name in names.items()},
        created=datetime.combine(created, time(), UTC),
    )
    return _set(job, fleet_made=bool(overrides))


def _write_json(data: Mapping[str, Any]) -> str:
    """Write data as JSON text without controls and halves of signs, which have no look."""
    text = json.dumps(data, ensure_ascii=False).encode("utf-8", "replace").decode()
    return _CONTROL.sub(r"\1", text) if any(mark in text for mark in _CONTROL_MARKS) else text


def _gather(main: str, overrides: Mapping[str, str]) -> dict[str, bytes]:
    """Collect the sources by the names the library sees; a fleet's come before ours."""
    for name, source in overrides.items():
        if name.endswith(".typ") and _PACKAGE.search(source):
            raise UpkeepError(f"templates/{name} asks for a package from the network; leave it out")
    found = {name: _read_template(name) for name in (main, _SHARED)}
    found |= {name: text.encode() for name, text in overrides.items() if name.endswith(".typ")}
    return {_MAIN: found.pop(main), **found}


@lru_cache(maxsize=8)
def _read_template(name: str) -> bytes:
    return (files("upkeep") / "templates" / name).read_bytes()


def _set(job: _Job, *, fleet_made: bool) -> bytes:
    from typst import TypstError

    unshown, of_machine = _settle_signs(job.text)
    text = job.text.translate({ord(sign): _name(sign) for sign in unshown})
    sources = {**job.sources, _DATA: text.encode()}
    with tempfile.TemporaryDirectory(prefix="walkround-") as folder:
        root = Path(folder)
        for name, data in job.pictures.items():
            (root / name).write_bytes(data)
        try:
            return _compile(sources, root, created=job.created, of_machine=of_machine)
        except TypstError as error:
            if fleet_made:
                said = error.message.replace(_MAIN, job.main)
                raise UpkeepError(f"the fleet's template for {job.main} fails: {said}") from error
            bad = [name for name in job.pictures if not _is_readable(name, root)]
            if not bad:
                raise
    return _set(_leave_out(job, bad), fleet_made=fleet_made)


def _compile(
    sources: Mapping[str, bytes], root: Path, *, created: datetime, of_machine: bool
) -> bytes:
    from typst import Compiler

    compiler = Compiler(
        input=dict(sources),
        root=root,
        font_paths=_open_fonts(of_machine=of_machine),
        package_path=root,
        package_cache_path=root,
    )
    made = compiler.compile(format="pdf", pdf_standards="ua-1", timestamp=created)
    return cast(bytes, made)  # one document, not a list of pages


def _forget() -> None:
    """Let the library drop the book before this one, or a long run would hold ten of them."""
    from typst import Compiler

    compiler = Compiler(font_paths=_open_fonts(of_machine=False))
    for _ in range(_AGES):
        compiler.compile(input=_NOTHING, format="svg")


@lru_cache(maxsize=2)
def _open_fonts(*, of_machine: bool) -> Any:
    from typst import Fonts

    return Fonts(include_system_fonts=of_machine, include_embedded_fonts=True)


def find_names(text: str) -> dict[int, str]:
    """Find the signs no font here can show, each with the name in brackets that stands for it."""
    return {ord(sign): _name(sign) for sign in _settle_signs(text)[0]}


def _settle_signs(text: str) -> tuple[frozenset[str], bool]:
    """Find the signs that no font can show; tell whether the machine's fonts help with others."""
    rare = frozenset(_RARE.findall(text))
    if not rare or not (rare := _find_unshown(rare, of_machine=False)):
        return frozenset(), False
    unshown = _find_unshown(rare, of_machine=True)
    return unshown, unshown != rare


@lru_cache(maxsize=256)
def _find_unshown(signs: frozenset[str], *, of_machine: bool) -> frozenset[str]:
    """Set the signs alone and read which of them the library could not show."""
    from typst import TypstError

    left = sorted(signs)
    unshown: set[str] = set()
    while left:
        sources = {_MAIN: _PROBE, _DATA: json.dumps(left).encode()}
        with tempfile.TemporaryDirectory(prefix="walkround-") as folder:
            try:
                _compile(sources, Path(folder), created=_ANY_DAY, of_machine=of_machine)
                break
            except TypstError as error:
                told = "".join(_UNSHOWN.findall(error.diagnostic))
                named = _ESCAPE.sub(lambda found: chr(int(found[1], 16)), told)
                if not (new := set(named) & set(left)):
                    raise
                unshown |= new
                left = [sign for sign in left if sign not in new]
    return frozenset(unshown)


def _name(sign: str) -> str:
    """Name a sign in words; one that only joins or shapes others has nothing to say."""
    if unicodedata.category(sign) in ("Cc", "Cf", "Mn"):
        return ""
    return f"[{unicodedata.name(sign, f'U+{ord(sign):04X}').lower()}]"


def _is_readable(name: str, root: Path) -> bool:
    from typst import TypstError

    source = f'#set document(title: "photo")\n#image("{name}", alt: "photo")'
    try:
        _compile({_MAIN: source.encode()}, root, created=_ANY_DAY, of_machine=False)
    except TypstError:
        return False
    return True


def _leave_out(job: _Job, bad: list[str]) -> _Job:
    data = json.loads(job.text)
    kept = {file: name for file, name in data["photos"].items() if name not in bad}
    text = json.dumps({**data, "photos": kept}, ensure_ascii=False)
    pictures = {name: job.pictures[name] for name in kept.values()}
    return replace(job, text=text, pictures=pictures)
