"""Writes vectors.json: one list of inputs and outputs that Python and the browser must both give.

    python tests/outside/make_vectors.py

The published checks come first: each states its source, the published figure and how far its printed digits
reach, and is refused here if the code does not meet it. The rest are edges, whose outputs are what the Python
code gives; the property tests and the other files of this folder say why those are right.
"""

import dataclasses
import inspect
import json
from decimal import Decimal
from pathlib import Path

from tests.outside import vector_cases
from webapp import measure

FILE = Path(__file__).with_name("vectors.json")


def _argument(name: str, value: object) -> object:
    """A value of the file as the argument it stands for: dicts become the dataclasses of the measurement core."""
    kinds = {
        "band": measure.Band,
        "rule": measure.Rule,
        "sigmas": measure.Sigmas,
        "fills": measure.FillValue,
        "parts": measure.Part,
        "judgement": measure.Judgement,
        "ground": measure.Result,
        "whole": measure.Result,
    }
    if isinstance(value, list) and name in kinds:
        return [_argument(name, item) for item in value]
    if isinstance(value, dict):
        return kinds[name](**{key: _argument(key, item) for key, item in value.items()})
    return value


def _plain(value: object) -> object:
    if dataclasses.is_dataclass(value):
        return {key: _plain(item) for key, item in dataclasses.asdict(value).items()}
    if isinstance(value, Decimal):
        return float(value)
    return list(value) if isinstance(value, tuple) else value


def call(function: str, given: dict) -> object:
    """What the Python code gives for one case, as it is written to the file; refusals are results too."""
    try:
        wanted = {key: _argument(key, value) for key, value in given.items()}
        return _plain(getattr(measure, function)(**wanted))
    except measure.ReadingProblem as problem:
        return {"problem": problem.code, "suggestion": problem.suggestion_hundredths}
    except ValueError:
        return {"refused": True}


def meets(expect: object, published: dict) -> bool:
    """True if the figures published agree with the output within their printed digits."""
    for key, figure in published["figures"].items():
        found = expect[key] if key else expect
        if isinstance(figure, int | float):
            if abs(found - figure) > published["within"]:
                return False
        elif found != figure:
            return False
    return True


def make() -> list[dict]:
    """All cases with their outputs. Raises ValueError if a published figure is not met."""
    cases = []
    for source, function, given, published in vector_cases.all_cases():
        signature = inspect.signature(getattr(measure, function))
        ordered = {name: given[name] for name in signature.parameters if name in given}
        if ordered.keys() != given.keys():
            raise ValueError(f"{function} does not take {given.keys() - ordered.keys()}")
        case = {"source": source, "function": function, "given": ordered, "expect": call(function, ordered)}
        if published is not None:
            case["published"] = published
            if not meets(case["expect"], published):
                raise ValueError(f"{source}: {function} gives {case['expect']}, published is {published}")
        cases.append(case)
    return cases


def to_text(cases: list[dict]) -> str:
    """The file's text: one case a line."""
    return "[\n" + ",\n".join(json.dumps(case, ensure_ascii=True) for case in cases) + "\n]\n"


if __name__ == "__main__":
    FILE.write_text(to_text(make()), encoding="ascii")
