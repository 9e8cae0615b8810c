"""Run a file of physics vectors through the public functions: python tests/run_vectors.py FILE.

The file is an object of groups, each a list of vectors with name, inputs, expected,
tolerance and source. The model code is the name up to its first hyphen. Prints each
mismatch, the codes it does not know, and last "N of M agree"; exits 1 on any mismatch.
"""

from __future__ import annotations

import inspect
import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, is_dataclass
from datetime import date
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[1]))  # an installed copy comes first

from upkeep import dates as civil
from upkeep.clocks import fouling as growth
from upkeep.clocks.rates import RateSpell, find_rate_due
from upkeep.errors import QuantityError
from upkeep.model import Period
from upkeep.physics import (
    anodes,
    antifreeze,
    battery,
    disinfection,
    evidence,
    fouling,
    gas,
    raw_water,
    recharge,
    run_hours,
    storage,
    wear_rate,
    wiring,
)

Inputs = Mapping[str, object]
Adapter = Callable[[Inputs], object]
Reader = Callable[[str, object], object]

CHEMISTRY_WORDS = {"lfp": "lithium", "lead": "flooded", "lead_acid": "flooded"}
FINDINGS: Mapping[frozenset[str], type] = {
    frozenset({"span_days", "wear_to"}): wear_rate.WearFinding,
    frozenset({"span_days", "wear_lo"}): wear_rate.WearBounds,
    frozenset({"span_days", "wear_hi"}): wear_rate.WearBounds,
    frozenset({"span_days", "wear_lo", "wear_hi"}): wear_rate.WearBounds,
    frozenset({"below_at_days", "past_at_days"}): wear_rate.LimitCrossing,
}  # by their keys; wear_from may stand in any
KEYS = ("name", "inputs", "expected", "tolerance")


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """How one vector came out; fault is empty where it agrees."""

    name: str
    fault: str
    is_known: bool = True


def read_text(key: str, value: object) -> str:
    """Read a word."""
    if not isinstance(value, str):
        raise QuantityError(key, f"{value!r:.40} is not text")
    return value


def read_day(key: str, value: object) -> date:
    """Read an ISO date."""
    return civil.parse_day(read_text(key, value), key)


def read_days(key: str, value: object) -> list[date | None]:
    """Read a list of ISO dates, some of them null."""
    if not isinstance(value, list):
        raise QuantityError(key, "is not a list")
    return [None if item is None else read_day(key, item) for item in value]


def read_whole(key: str, value: object) -> int:
    """Read a whole number."""
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or (isinstance(value, float) and not value.is_integer()):
        raise QuantityError(key, f"{value!r:.40} is not a whole number")
    return int(value)


def read_chemistry(key: str, value: object) -> str:
    """Read a chemistry, by the vectors' words or ours."""
    word = read_text(key, value)
    return CHEMISTRY_WORDS.get(word, word)


def read_meter(key: str, value: object) -> object:
    """Read hour-meter records: {date, hours} or {date, old_hours, new_hours}."""
    if not isinstance(value, list):
        raise QuantityError(key, "is not a list")
    return [_read_record(key, row) for row in value]


def _read_record(key: str, row: object) -> object:
    if not isinstance(row, dict) or "date" not in row:
        raise QuantityError(key, f"{row!r:.40} has no date")
    on, rest = read_day(key, row["date"]), set(row) - {"date"}
    if rest == {"hours"}:
        return on, row["hours"]
    if rest == {"old_hours", "new_hours"}:
        return run_hours.MeterChange(on=on, old_hours=row["old_hours"], new_hours=row["new_hours"])
    raise QuantityError(key, f"{sorted(rest)} is not hours, or old_hours and new_hours")


def read_readings(key: str, value: object) -> object:
    """Read hour-meter readings of one meter."""
    records = read_meter(key, value)
    if any(isinstance(record, run_hours.MeterChange) for record in records):
        raise QuantityError(key, "a change of meter is not a reading")
    return records


def read_rates(key: str, value: object) -> object:
    """Read spells with a rate: {from, to, rate}."""
    return [
        RateSpell(first=first, end=end, rate=rest["rate"])
        for first, end, rest in _read_spells(key, value, {"rate"})
    ]


def read_immersed(key: str, value: object) -> object:
    """Read spells in the water: {from, to}."""
    return [Period(first=first, end=end) for first, end, _ in _read_spells(key, value, set())]


def _read_spells(key: str, value: object, besides: set[str]) -> Iterator[tuple[date, date, dict]]:
    if not isinstance(value, list):
        raise QuantityError(key, "is not a list")
    for row in value:
        if not isinstance(row, dict) or set(row) != {"from", "to", *besides}:
            raise QuantityError(key, f"{row!r:.40} is not a spell")
        yield read_day(key, row["from"]), read_day(key, row["to"]), row


def read_findings(key: str, value: object) -> object:
    """Read findings: wear read, bounds of wear, or the limit passed between two looks."""
    if not isinstance(value, list):
        raise QuantityError(key, "is not a list")
    return [_read_finding(key, row) for row in value]


def _read_finding(key: str, row: object) -> object:
    kind = FINDINGS.get(frozenset(row) - {"wear_from"}) if isinstance(row, dict) else None
    if kind is None:
        raise QuantityError(key, f"{row!r:.40} is not a finding")
    return kind(**row)


def adapt(function: Callable[..., object], **readers: Reader) -> Adapter:
    """Make an adapter that passes inputs by name, each through its reader if it has one."""
    parameters = inspect.signature(function).parameters

    def run(inputs: Inputs) -> object:
        for key, parameter in parameters.items():
            if key not in inputs and parameter.default is inspect.Parameter.empty:
                raise QuantityError(key, "is missing")
        for key in inputs:
            if key not in parameters:
                raise QuantityError(key, "is not an input of this model")
        values = {
            key: readers[key](key, value) if key in readers else value
            for key, value in inputs.items()
        }
        return function(**values)

    return run


def find_month_due(*, anchor: date, months: int, times: int = 1) -> date:
    """Run MON."""
    return civil.find_month_due(anchor, months, times)


def find_stamp_end(*, stamp: str, life_months: int = 0, reading: str = "end") -> date:
    """Run EXP."""
    if reading not in ("start", "end"):
        raise QuantityError("reading", f"{reading:.40} is not start or end")
    printed = civil.parse_stamp(stamp)
    if reading == "start":
        return civil.find_first_end_day(printed, life_months)
    return civil.find_last_valid_day(printed, life_months)


def find_season_due(*, done: date, anchor: str, window_d: int = 0, offset_d: int = 0) -> date:
    """Run SEA."""
    month_day = civil.parse_month_day(anchor, "anchor")
    return civil.find_season_due(done, month_day, window_days=window_d, offset_days=offset_d)


def find_earliest(*, dates: Sequence[date | None]) -> date | None:
    """Run EAR."""
    return civil.find_earliest(dates)


MODELS: Mapping[str, Adapter] = {
    "RUN": adapt(battery.estimate_runtime),
    "NET": adapt(battery.find_net_current),
    "PEU": adapt(battery.estimate_peukert_runtime),
    "TMP": adapt(battery.estimate_temperature_factor),
    "SDR": adapt(storage.estimate_self_discharge),
    "ARR": adapt(storage.estimate_arrhenius_rate),
    "STO": adapt(storage.estimate_storage_days),
    "STD": adapt(storage.find_recheck_day, start=read_day),
    "STM": adapt(storage.find_floor_day, start=read_day),
    "RCG": adapt(recharge.estimate_recharge_hours, chemistry=read_chemistry),
    "REJ": adapt(raw_water.estimate_heat_rejected),
    "FLO": adapt(raw_water.estimate_flow_needed),
    "RIS": adapt(raw_water.estimate_rise),
    "BKT": adapt(raw_water.measure_flow),
    "GPM": adapt(raw_water.estimate_us_flow_needed),
    "STR": adapt(raw_water.estimate_loop_flow),
    "BLK": adapt(raw_water.estimate_blocked_fraction),
    "DRP": adapt(raw_water.compare_flow),
    "FRT": adapt(fouling.estimate_fouling_rate),
    "FCM": adapt(growth.count_fouling, start=read_day, end=read_day, immersed=read_immersed),
    "FIN": adapt(growth.find_fouling_due, start=read_day, immersed=read_immersed),
    "KSR": adapt(fouling.estimate_resistance),
    "KST": adapt(fouling.estimate_days_to_resistance),
    "UFR": adapt(fouling.estimate_resistance_of_drop),
    "DSC": adapt(fouling.estimate_descaling_days),
    "AND": adapt(anodes.estimate_days_to_consume),
    "ANL": adapt(anodes.estimate_life),
    "ANR": adapt(anodes.weigh_anode),
    "ANG": adapt(anodes.estimate_pencil_consumed),
    "ANC": adapt(anodes.estimate_aluminium_capacity),
    "ANS": adapt(anodes.judge_alloy, water=read_text, alloy=read_text),
    "EVD": adapt(evidence.estimate_interval, findings=read_findings),
    "CHN": adapt(evidence.estimate_chance, findings=read_findings),
    "THS": adapt(run_hours.estimate_rate_from_readings, readings=read_readings),
    "REG": adapt(run_hours.pool_rate),
    "MET": adapt(run_hours.find_total_hours, readings=read_meter),
    "HRD": adapt(run_hours.forecast_dates, today=read_day),
    "MON": adapt(find_month_due, anchor=read_day, months=read_whole, times=read_whole),
    "EXP": adapt(find_stamp_end, stamp=read_text, life_months=read_whole, reading=read_text),
    "SEA": adapt(
        find_season_due, done=read_day, anchor=read_text, window_d=read_whole, offset_d=read_whole
    ),
    "PWL": adapt(find_rate_due, start=read_day, rates=read_rates),
    "EAR": adapt(find_earliest, dates=read_days),
    "PGF": adapt(antifreeze.estimate_freeze_point),
    "PGN": adapt(antifreeze.estimate_glycol_needed),
    "PGB": adapt(antifreeze.find_burst_strength),
    "DIL": adapt(antifreeze.dilute_antifreeze),
    "CML": adapt(wiring.estimate_circular_mils),
    "VDM": adapt(wiring.estimate_voltage_drop),
    "AWG": adapt(wiring.find_gauge),
    "FUS": adapt(wiring.judge_fuse),
    "CHL": adapt(disinfection.estimate_bleach),
    "CTH": adapt(disinfection.find_contact_time),
    "RNS": adapt(disinfection.count_flushes),
    "LPG": adapt(gas.judge_leak_test),
}


def run_model(code: str, inputs: Inputs) -> object:
    """Run one model; give its result as JSON would hold it, bad input as {"error": key}."""
    try:
        return _to_json(MODELS[code](inputs))
    except QuantityError as error:
        return {"error": error.key}


def _to_json(result: object) -> object:
    if is_dataclass(result) and not isinstance(result, type):
        return {key: _to_json(value) for key, value in asdict(result).items()}
    return result.isoformat() if isinstance(result, date) else result


def agrees(expected: object, actual: object, tolerance: float) -> bool:
    """Compare: numbers within tolerance, everything else exactly."""
    if isinstance(expected, dict):
        return (
            isinstance(actual, dict)
            and expected.keys() == actual.keys()
            and all(agrees(expected[key], actual[key], tolerance) for key in expected)
        )
    if _is_number(expected):
        return _is_number(actual) and abs(expected - actual) <= tolerance
    return type(expected) is type(actual) and expected == actual


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def read_code(vector: object) -> str:
    """Give a vector's model code; empty where it has no usable name."""
    name = vector.get("name") if isinstance(vector, dict) else None
    return name.split("-")[0] if isinstance(name, str) else ""


def judge_vector(place: str, vector: object) -> Outcome:
    """Run one vector; place names it where it has no name of its own."""
    code = read_code(vector)
    if not code:
        return Outcome(name=place, fault="has no name")
    if code not in MODELS:
        return Outcome(name=code, fault="", is_known=False)
    name = vector["name"]
    missing = [key for key in KEYS if key not in vector]
    if missing:
        return Outcome(name=name, fault=f"{missing[0]} is missing")
    tolerance = vector["tolerance"]
    if not _is_number(tolerance) or not 0 <= tolerance < float("inf"):
        return Outcome(name=name, fault=f"tolerance {tolerance!r} is not a number, 0 or more")
    if not isinstance(vector["inputs"], dict):
        return Outcome(name=name, fault="inputs is not an object")
    return Outcome(name=name, fault=_find_fault(code, vector))


def _find_fault(code: str, vector: Mapping[str, object]) -> str:
    expected, tolerance = vector["expected"], vector["tolerance"]
    try:
        actual = run_model(code, vector["inputs"])
        if agrees(expected, actual, tolerance):
            return ""
    except Exception as error:  # our fault, reported as a mismatch so that all are run
        return f"expected {expected!r}, broke with {type(error).__name__}: {error}"
    return f"expected {expected!r} within {tolerance}, got {actual!r}"


def judge_file(data: object) -> Iterator[Outcome]:
    """Run every vector of a file's content."""
    if not isinstance(data, dict):
        yield Outcome(name="file", fault="is not an object of groups")
        return
    for group, vectors in data.items():
        if not isinstance(vectors, list):
            yield Outcome(name=group, fault="is not a list of vectors")
            continue
        for number, vector in enumerate(vectors, 1):
            yield judge_vector(f"{group}[{number}]", vector)


def report(outcomes: list[Outcome]) -> int:
    """Print what went wrong and the count; give the exit code."""
    known = [outcome for outcome in outcomes if outcome.is_known]
    faulty = [outcome for outcome in known if outcome.fault]
    for outcome in faulty:
        print(f"{outcome.name}: {outcome.fault}")
    unknown = sorted(outcome.name for outcome in outcomes if not outcome.is_known)
    for code in dict.fromkeys(unknown):
        print(f"{code}: unknown model, {unknown.count(code)} vectors not run")
    print(f"{len(known) - len(faulty)} of {len(known)} agree")
    return 1 if faulty else 0


def main(arguments: list[str]) -> int:
    """Run one file; 0 all agree, 1 mismatch, 2 no such file."""
    if len(arguments) != 1:
        print("usage: python tests/run_vectors.py FILE.json", file=sys.stderr)
        return 2
    try:
        data = json.loads(Path(arguments[0]).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        print(f"{arguments[0]}: cannot be read: {error}", file=sys.stderr)
        return 2
    return report(list(judge_file(data)))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
