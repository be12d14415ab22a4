"""A reading as a form hands it over: of a sample, a compared coffee, a study's fill."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class NewReading:
    """One number from the meter, in hundredths; `typed` is what was entered, `void_reason` why it does not count,
    `confirmed` that the person was asked about it and said yes."""

    fill_no: int
    no: int
    value: int
    typed: str
    void_reason: str = ""
    confirmed: bool = False
