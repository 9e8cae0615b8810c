"""Golden files, small fleets written by tests, and the services CI must have."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(  # a busy machine is no fault of the program
    "walkround", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("walkround")

GOLDEN = Path(__file__).parent / "golden"
ROOT = Path(__file__).parents[1]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update-golden", action="store_true", help="rewrite the golden files")


@pytest.fixture(scope="session")
def _golden_used(request: pytest.FixtureRequest) -> Iterator[set[str]]:
    """Remember which golden files were read; a full run fails on one that nobody reads."""
    used: set[str] = set()
    yield used
    whole = not request.config.getoption("keyword") and not request.config.getoption("markexpr")
    whole = whole and request.config.args in ([str(ROOT)], [str(ROOT / "tests")], ["tests"])
    if whole and request.session.testsfailed == 0:
        unused = {path.name for path in GOLDEN.iterdir()} - used
        assert not unused, f"golden files nobody reads: {sorted(unused)}"


@pytest.fixture
def golden(request: pytest.FixtureRequest, _golden_used: set[str]) -> Callable[..., None]:
    """Compare text or bytes with tests/golden/NAME, or rewrite it with --update-golden."""

    def compare(name: str, content: str | bytes) -> None:
        _golden_used.add(name)
        data = content.encode() if isinstance(content, str) else content
        path = GOLDEN / name
        if request.config.getoption("--update-golden"):
            GOLDEN.mkdir(exist_ok=True)
            path.write_bytes(data)
        assert path.exists(), f"{name} is missing; run pytest --update-golden and look at it"
        assert path.read_bytes() == data, f"{name} differs; look at the change"

    return compare


@pytest.fixture
def fleet_folder(tmp_path: Path) -> Callable[..., Path]:
    """Write a small fleet: files by name; fleet.toml is filled in when not given."""

    def write(**files: str | bytes) -> Path:
        folder = tmp_path / "fleet"
        content = {"fleet.toml": FLEET, **{k.replace("__", "/"): v for k, v in files.items()}}
        for name, text in content.items():
            path = folder / (name if name.endswith(".toml") else f"{name}.toml")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode() if isinstance(text, str) else text)
        return folder

    return write


FLEET = """
[fleet]
id = "test"
name = "Test fleet"
contact = { name = "Yard", email = "yard@example.org" }

[water.bay]
name = "the bay"
class = "marina"
salinity = "sea"
monthly_c = [8, 7, 8, 10, 13, 16, 18, 19, 17, 14, 11, 9]
"""
