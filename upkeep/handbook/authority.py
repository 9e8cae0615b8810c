"""Who says so: bindings and sources in the words their mark allows.

Which words for which mark: the project's table of who may publish a rule in what form.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from upkeep.handbook.material import Job, Material
from upkeep.handbook.wording import NO_SOURCE, say_all
from upkeep.model import Scope, Source
from upkeep.terms import scope_holds

MARK_WORDS: Mapping[str, str] = {
    "SEEN": "read",
    "SEEN-2": "reported by others",
    "MEMORY": "from memory",
    "PRACTICE": NO_SOURCE,
}
PRACTICE_WORDS = "Common practice, change as you wish"
_DATED = re.compile(r"\d{4}(-\d{2}){0,2}", re.ASCII)
_FORMS: Mapping[str, str] = {
    "CODE": "Needed for a certificate on waters that ask for it",
    "STD": "Recommended in",
    "GOV": "Recommended by",
    "MAKER": "One maker's book says so; your own maker's book comes first",
    "TRADE": "Commonly advised",
}


def say_binding(job: Job, material: Material) -> str:
    """Say how far a job binds: required for whom, advised, or common practice."""
    if job.binding == "practice":
        return f"{PRACTICE_WORDS}."
    if job.binding == "advised":
        return _say_advised(job, material)
    scopes = [scope for scope in _held(job, material) if scope.binding == "required"]
    words = list(dict.fromkeys(say_scope(scope) for scope in scopes))
    return f"Required for {say_all(words)}." if words else "Required."


def _say_advised(job: Job, material: Material) -> str:
    for scope in _held(job, material):
        sources = [material.catalogue.sources[name] for name in scope.sources]
        if any(source.authority == "LAW" and source.mark == "SEEN-2" for source in sources):
            return f"Advised; reported as required for {say_scope(scope)}. Confirm it."
    return "Advised by those named below."


def _held(job: Job, material: Material) -> list[Scope]:
    return [scope for scope in job.rule.scopes if scope_holds(scope, material.standing)]


def say_scope(scope: Scope) -> str:
    """Say which boats a scope holds: "boats in hire use, of flag GB"."""
    words = []
    if scope.uses:
        words.append(f"in {say_all(scope.uses, 'or')} use")
    if scope.flags:
        words.append(f"of flag {say_all([flag.upper() for flag in scope.flags], 'or')}")
    if scope.classes:
        words.append(f"of class {say_all(scope.classes, 'or')}")
    if scope.waters:
        words.append(f"on waters of {say_all(scope.waters, 'or')}")
    if scope.schemes:
        words.append(f"in the scheme {say_all(scope.schemes, 'or')}")
    return f"boats {', '.join(words)}" if words else "every boat"


def list_sources(job: Job, material: Material) -> tuple[str, ...]:
    """Say each source of a job: in what form it speaks, its title, how well it was read."""
    scopes = _held(job, material)
    lines = []
    for name in job.sources:
        bound = [scope for scope in scopes if name in scope.sources]
        lines.append(say_source(material.catalogue.sources[name], bound))
    override = material.vessel.overrides.get((job.component.id, job.rule.id))
    if override is not None and override.limits:
        lines.append(f"Set for this boat: {override.source}.")
    return tuple(lines)


def say_source(source: Source, scopes: Sequence[Scope] = ()) -> str:
    """Say one source. scopes: those of hers that rest on it.

    A mark of MEMORY or PRACTICE, or no authority, makes it common practice whatever else.
    """
    title = _say_title(source)
    mark = MARK_WORDS[source.mark]
    if source.mark in ("MEMORY", "PRACTICE") or source.authority == "NONE":
        if title.startswith("Common practice"):
            return f"{title}: change as you wish ({mark})."
        return f"{PRACTICE_WORDS}: {title} ({mark})."
    if source.authority == "LAW":
        return f"{_say_law(source, scopes)}: {title} ({mark})."
    form = _FORMS[source.authority]
    if source.authority == "TRADE" and source.range:
        form = f"{form}; {source.range}"
    return f"{form}: {title} ({mark})."


def _say_law(source: Source, scopes: Sequence[Scope]) -> str:
    whom = say_all(list(dict.fromkeys(map(say_scope, scopes))))
    if source.mark == "SEEN-2":
        return f"Reported as required {f'for {whom}' if whom else 'where it holds'}; confirm it"
    binds = any(scope.binding == "required" for scope in scopes)
    return f"Required for {whom}" if binds else "A law, for information; ask whether it binds her"


def _say_title(source: Source) -> str:
    section = source.section.strip()
    title = source.title
    if section and section not in title:
        title += f", section {section}" if section[0].isdigit() else f", {section}"
    if source.edition and source.edition not in title:
        dated = _DATED.fullmatch(source.edition)
        title += f", copy of {source.edition}" if dated else f", {source.edition}"
    return title
