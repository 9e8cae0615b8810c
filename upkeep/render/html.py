"""Handbook and index as one self-contained HTML page each. Owns the template library.

The page is HTML (WHATWG HTML Living Standard); its aim is WCAG 2.2, level AA.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NoReturn

from upkeep.errors import UpkeepError
from upkeep.render.outline import list_photos, outline
from upkeep.render.pictures import sniff

if TYPE_CHECKING:
    from jinja2 import Environment

HANDBOOK = "handbook.html"
INDEX = "index.html"
STYLE = "style.css"
_NO_OVERRIDES: Mapping[str, str] = {}
_CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")  # not allowed in HTML: 13.2.3.5


def render_handbook(
    book: Mapping[str, Any],
    *,
    photos: Mapping[str, bytes],
    overrides: Mapping[str, str] = _NO_OVERRIDES,
) -> bytes:
    """Lay a book out as one HTML file, UTF-8.

    book: the JSON form of blocks.Book. photos: file name to PNG or JPEG bytes; a photograph
    that is not there, or is neither, is replaced by a sentence. overrides: template name to
    source, of a fleet's own templates that shadow ours; they run in a sandbox.
    Raises UpkeepError when a fleet's template fails.
    """
    from markupsafe import Markup

    pictures = {
        file: Markup(f"data:image/{kind};base64,{b64encode(data).decode('ascii')}")
        for file in list_photos(book)
        if (kind := sniff(data := photos.get(file, b"")))
    }
    return _render(HANDBOOK, overrides, {"book": outline(book), "photos": pictures})


def render_index(data: Mapping[str, Any], *, overrides: Mapping[str, str] = _NO_OVERRIDES) -> bytes:
    """Lay out the page that leads to every boat's calendar and handbook.

    data: fleet, today, contact, phone, email, vessels (name, type, id, next, feed, webcal,
    handbook, pdf, card, late, note) and stopped (vessel, file). Raises UpkeepError as
    render_handbook does.
    """
    return _render(INDEX, overrides, {"data": data})


def _render(name: str, overrides: Mapping[str, str], values: Mapping[str, Any]) -> bytes:
    if not overrides:
        return _write(_own_environment(), name, values)
    from jinja2 import TemplateError

    try:
        return _write(_fleet_environment(tuple(sorted(overrides.items()))), name, values)
    except (TemplateError, ArithmeticError, LookupError, TypeError, ValueError) as error:
        raise UpkeepError(f"the fleet's template for {name} fails: {_describe(error)}") from error


def _write(environment: Environment, name: str, values: Mapping[str, Any]) -> bytes:
    text = environment.get_template(name).render(values)
    return _CONTROLS.sub("", text).encode("utf-8", "replace")


def _describe(error: Exception) -> str:
    where = (getattr(error, "name", None), getattr(error, "lineno", None))
    return f"{where[0]}, line {where[1]}: {error}" if all(where) else str(error)


@lru_cache(maxsize=1)
def _own_environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return _furnish(
        Environment(
            loader=PackageLoader("upkeep"),
            undefined=StrictUndefined,
            autoescape=True,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )
    )


@lru_cache(maxsize=8)
def _fleet_environment(overrides: tuple[tuple[str, str], ...]) -> Environment:
    """Make an environment in which a fleet's templates come first and can reach nothing else."""
    from jinja2 import ChoiceLoader, DictLoader, PackageLoader, StrictUndefined
    from jinja2.sandbox import SandboxedEnvironment

    return _furnish(
        SandboxedEnvironment(
            loader=ChoiceLoader([DictLoader(dict(overrides)), PackageLoader("upkeep")]),
            undefined=StrictUndefined,
            autoescape=True,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )
    )


def _furnish(environment: Environment) -> Environment:
    """Give templates the style sheet, which is no template, and a way to refuse a block."""
    from markupsafe import Markup

    assert environment.loader is not None
    style, _, _ = environment.loader.get_source(environment, STYLE)
    environment.globals.update(style=Markup(style), refuse=_refuse)
    return environment


def _refuse(kind: str) -> NoReturn:
    raise ValueError(f"no way to show a block {kind!r}")
