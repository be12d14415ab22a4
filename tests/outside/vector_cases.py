"""The cases of vectors.json: (source, function, arguments, published figures or None).

Published figures: {"figures": {key: figure}, "within": half a unit of the last printed digit}; the key is ''
where the output is a single number.
"""

from collections.abc import Iterator

EDGE = "edge of our own"
PRACTICE = "common practice, no source"
ISO_5725 = "ISO 5725-6:1994"

GUARDED = {"kind": "guarded", "confidence": 0.8}
STRICT = {"kind": "guarded", "confidence": 0.95}
SIMPLE = {"kind": "simple", "confidence": 0.8}
ASSUMED_WHOLE = {"sigma_r": 0.3, "sigma_f": 0.5, "source": "assumed"}
ASSUMED_GROUND = {"sigma_r": 0.2, "sigma_f": 0.3, "source": "assumed"}


def _of(**arguments: object) -> dict:
    return arguments


def _figure(figure: object, within: float = 0.0) -> dict:
    return {"figures": {"": figure}, "within": within}


def _fill(value: float, n: int = 3) -> dict:
    return _of(value=value, how="mean", n=n, range=0.1, limit=1.0, state="agree", more=0)


def _band(lower: float | None, centre: float | None, upper: float | None) -> dict:
    return {"lower": lower, "centre": centre, "upper": upper}


def replicates() -> Iterator[tuple]:
    printed = {2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 8: 4.3, 10: 4.5, 15: 4.8, 20: 5.0, 50: 5.6, 90: 6.0, 100: 6.1}
    for n in range(2, 101):
        given = {"n": n, "sigma_r": 1.0, "step": 0.01}
        # 0.05000001: half a unit of the printed digit.
        yield f"{ISO_5725}, table 1", "critical_range", given, (
            _figure(printed[n], 0.05000001) if n in printed else None
        )
    paths = [
        ("5.2.2.1", [10, 12.5], 2, False, 11.25, "mean"),
        ("5.2.2.1", [10, 13.5, 11, 12], 2, False, 11.625, "mean"),
        ("5.2.2.2", [10, 13, 11], 2, False, 11.333, "mean"),
        ("5.2.2.2 a", [10, 14, 11], 2, True, 11, "median"),
        ("5.2.2.2 b", [10, 14, 11, 12], 2, False, 11.5, "median"),
        ("5.2.3", [10, 14, 11, 12], 3, False, 11.5, "median"),
    ]
    for clause, readings, planned, final, value, how in paths:
        given = _of(readings=readings, planned=planned, sigma_r=1.0, step=0.1, final=final)
        published = {"figures": {"value": value, "how": how}, "within": 0.0005}
        yield f"{ISO_5725}, {clause}, readings made up", "fill_value", given, published
    for kind, readings, value in ((0.3, [62.0, 62.1, 62.0], 62.0), (0.2, [84.3, 84.4, 84.3], 84.3)):
        given = _of(readings=readings, planned=3, sigma_r=kind, step=0.1)
        yield PRACTICE, "fill_value", given, {"figures": {"value": value, "state": "agree"}, "within": 0.05}
    edges = [
        ([56.2], 3, 0.3, 0.1), ([56.2] * 5, 3, 0.0, 0.1), ([56.1, 56.4], 2, 0.0, 0.3), ([55.8, 56.1], 2, 0.0, 0.3),
        ([55.8, 56.11], 2, 0.0, 0.3), ([62.0, 64.0], 3, 0.3, 0.1), ([62.0, 64.0, 62.1], 3, 0.3, 0.1),
        ([62.0, 64.0, 62.1, 62.2], 3, 0.3, 0.1), ([60, 66], 6, 0.3, 0.1), ([60, 66, 60, 60, 60, 60], 6, 0.3, 0.1),
        ([60, 66, 60, 60, 60, 60, 61], 6, 0.3, 0.1), ([60, 66, 60, 60, 60, 60, 61, 61], 6, 0.3, 0.1),
        ([-5.5, -5.0, -5.5], 3, 0.1, 0.5), ([60, 62], 1, 0.3, 0.1), ([], 3, 0.3, 0.1), ([60.0], 0, 0.3, 0.1),
        ([60.0], 3, -0.3, 0.1), ([60.0], 3, 0.3, 0.0), ([10000001, 10000003, 10000002], 3, 1.0, 1.0),
    ]  # fmt: skip
    for readings, planned, sigma_r, step in edges:
        yield EDGE, "fill_value", _of(readings=readings, planned=planned, sigma_r=sigma_r, step=step), None
    for n in (0, 1, 101):
        yield EDGE, "critical_range", {"n": n, "sigma_r": 0.3, "step": 0.1}, None
    yield EDGE, "critical_range", {"n": 3, "sigma_r": 0.0, "step": 0.5}, None
    for n in range(2, 12):
        yield f"{ISO_5725}, 5.2.3", "more_readings", {"n": n}, None
    strd = "NIST StRD NumAcc1"
    yield strd, "mean", {"values": [10000001, 10000003, 10000002]}, _figure(10000002)
    for number, start, within in ((2, 1, 1e-15), (3, 1000000, 1e-9), (4, 10000000, 1e-8)):
        values = [float(f"{start}.2")] + [float(f"{start}.1"), float(f"{start}.3")] * 500
        yield f"NIST StRD NumAcc{number}", "mean", {"values": values}, _figure(float(f"{start}.2"), within)
    yield EDGE, "median", {"values": [3.0, 1.0, 2.0]}, None
    yield EDGE, "median", {"values": [4.0, 1.0, 2.0, 8.0]}, None


def results() -> Iterator[tuple]:
    budget = {"sigma_r": 0.3, "sigma_f": 0.4, "source": "study"}
    given = _of(fills=[_fill(62.0), _fill(62.4)], sigmas=budget, step=0.1, u_meter=0.2)
    by_hand = {"figures": {"value": 62.2, "u": 0.368556}, "within": 5e-7}
    yield "JCGM 100:2008, 5.1.2 by hand", "sample_result", given, by_hand
    alone = {"sigma_r": 0.0, "sigma_f": 0.0, "source": "study"}
    given = _of(fills=[_fill(50.0, 1)], sigmas=alone, step=1.0, u_meter=0.0)
    yield "JCGM 100:2008, F.2.2.1", "sample_result", given, {"figures": {"u": 0.29}, "within": 0.005}
    temperatures = {"sigma_r": 1.4888444830595435, "sigma_f": 0.0, "source": "study"}
    given = _of(fills=[_fill(100.145, 20)], sigmas=temperatures, step=1e-6, u_meter=0.0)
    yield "JCGM 100:2008, 4.4.3", "sample_result", given, {"figures": {"u": 0.333}, "within": 0.0005}
    for fills in ([_fill(60.0)], [_fill(60.0), _fill(61.4)], [_fill(60.0), _fill(61.5)],
                  [_fill(60.0, 3), _fill(61.0, 4), _fill(60.2, 1)], [_fill(60.0, 1), _fill(60.1, 1)], []):  # fmt: skip
        for step, u_meter in ((0.1, 0.0), (0.5, 0.2)):
            given = _of(fills=fills, sigmas=ASSUMED_WHOLE, step=step, u_meter=u_meter)
            yield EDGE, "sample_result", given, None
    yield EDGE, "sample_result", _of(fills=[_fill(60.0)], sigmas=alone, step=0.0, u_meter=0.1), None
    yield EDGE, "sample_result", _of(fills=[_fill(60.0)], sigmas=alone, step=0.1, u_meter=-0.1), None
    yield EDGE, "fills_range_limit", _of(fills=2, readings=6, sigmas=ASSUMED_WHOLE, step=0.1), None
    yield EDGE, "fills_range_limit", _of(fills=1, readings=3, sigmas=ASSUMED_WHOLE, step=0.1), None
    ground = _of(value=84.333, u=0.4, U=0.8, fills=1, readings=3, fill_term=0.09, reading_term=0.04 / 3,
                  step_term=0.01 / 12, meter_term=0.0025, fills_limit=None, fills_disagree=False)  # fmt: skip
    whole = ground | _of(value=62.033, fill_term=0.125, reading_term=0.015, fills=2, readings=6, fills_disagree=True)
    for same_meter in (True, False):
        given = _of(ground=ground, whole=whole, step_ground=0.1, step_whole=0.1, same_meter=same_meter)
        yield PRACTICE, "difference", given, {"figures": {"value": 22.3}, "within": 0.05}
    given = _of(ground=whole, whole=ground, step_ground=0.1, step_whole=0.5, same_meter=False)
    yield EDGE, "difference", given, None


def conformity() -> Iterator[tuple]:
    voltage = _of(value=-5.47, u=0.05, band=_band(None, None, -5.40))
    jcgm = "JCGM 106:2012, breakdown voltage"
    yield jcgm, "conformance_probability", voltage, _figure(0.9192433407662289, 1e-12)
    for chance, z in ((0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)):
        # Half a unit of z's last digit, times the normal density (at most 0.4 there).
        yield "JCGM 106:2012, table 1", "normal_cdf", {"z": z}, _figure(chance, 0.005 * 0.4)
    yield "JCGM 106:2012, 8.3.2", "normal_cdf", {"z": -2.0}, _figure(0.02275, 5e-6)
    for z in (0.0, 1e-9, 0.3, 1.0, 2.1, 2.13, 3.0, 5.0, 8.0, 20.0, 37.0):
        yield EDGE, "normal_cdf", {"z": z}, None
        yield EDGE, "normal_cdf", {"z": -z}, None
    cupping = [(61.9, "outside"), (62.0, "inside"), (63.0, "inside"), (64.0, "inside"), (64.1, "outside")]
    source = "Specialty Coffee Association, Coffee Standards (2018), 3: ground 63.0 +/- 1.0"
    for value, verdict in cupping:
        given = _of(value=value, u=0.3, band=_band(62.0, 63.0, 64.0), rule=SIMPLE, lighter=1)
        yield source, "judge", given, {"figures": {"verdict": verdict}, "within": 0}
    source = "the same, whole bean 58 +/- 1 (from memory)"
    for value, side in ((58.0, None), (56.0, "darker"), (60.0, "lighter")):
        given = _of(value=value, u=0.3, band=_band(57.0, None, 59.0), rule=STRICT, lighter=1)
        figures = {"verdict": "outside" if side else "inside", "side": side}
        yield source, "judge", given, {"figures": figures, "within": 0}
    fine = _of(value=96.833, u=0.4, band=_band(81.3, 84.3, 87.3), rule=GUARDED, lighter=1)
    figures = {"verdict": "outside", "side": "lighter"}
    yield PRACTICE, "judge", fine, {"figures": figures, "within": 0}
    bands = [_band(60.0, None, 64.0), _band(60.0, 61.0, 64.0), _band(60.0, None, None), _band(None, 62.0, 64.0),
             _band(None, None, 64.0), _band(60.0, 61.5, None)]  # fmt: skip
    for band in bands:
        for value in (55.0, 59.99, 60.0, 61.0, 62.0, 63.7, 64.0, 64.3, 70.0):
            yield EDGE, "position", _of(value=value, band=band, lighter=-1), None
            for u in (0.0, 0.25, 9.0):
                yield EDGE, "judge", _of(value=value, u=u, band=band, rule=GUARDED, lighter=1), None
            yield EDGE, "judge", _of(value=value, u=0.25, band=band, rule=STRICT, lighter=-1), None
            yield EDGE, "judge", _of(value=value, u=0.25, band=band, rule=SIMPLE, lighter=-1), None
    on_limit = _of(value=0.1 + 0.2, u=0.1, band=_band(0.1, None, 0.3), rule=SIMPLE, lighter=1)
    yield EDGE, "judge", on_limit, None
    yield EDGE, "judge", _of(value=60.45, u=0.7, band=_band(60.0, None, 60.9), rule=GUARDED, lighter=1), None
    for value in (60.0, 64.0):
        given = _of(value=value, u=0.1, band=_band(61.0, None, 63.0))
        yield EDGE, "conformance_probability", given, None
    for band in (_band(None, None, None), _band(64.0, None, 60.0), _band(60.0, 60.0, 64.0), _band(60.0, 65.0, 64.0)):
        yield EDGE, "judge", _of(value=62.0, u=0.1, band=band, rule=GUARDED, lighter=1), None
    for u, confidence, lighter in ((-0.1, 0.8, 1), (0.1, 0.5, 1), (0.1, 1.0, 1), (0.1, 0.8, 0)):
        rule = {"kind": "guarded", "confidence": confidence}
        yield EDGE, "judge", _of(value=62.0, u=u, band=bands[0], rule=rule, lighter=lighter), None
    sigmas = {"sigma_r": 0.2, "sigma_f": 0.4, "source": "study"}
    for value in (63.7, 63.75, 63.8, 63.9, 64.0, 64.2, 64.25, 64.3):
        for fills in (1, 2, 4):
            yield EDGE, "fills_to_settle", _of(
                value=value, fills=fills, readings_per_fill=3, sigmas=sigmas, step=0.1, u_meter=0.05,
                band=bands[0], rule=GUARDED, lighter=1), None  # fmt: skip


def batches() -> Iterator[tuple]:
    def judged(verdict: str, chance: float) -> dict:
        return _of(verdict=verdict, side=None, chance=chance, position=0.0, beyond=0.0)

    inside, close, out = judged("inside", 0.97), judged("undecided", 0.6), judged("outside", 0.02)
    states = [(True, inside), (True, close), (True, out), (True, None), (False, None)]
    for whole, ground in ((a, b) for a in states for b in states):
        measured = (("whole", *whole), ("ground", *ground))
        parts = [_of(kind=kind, has_target=wanted, judgement=found) for kind, wanted, found in measured]
        yield EDGE, "batch_verdict", _of(parts=parts, meter_proven=True), None
    alone = _of(kind="difference", has_target=True, judgement=inside)
    for few in ([], [alone], [alone, alone]):
        yield EDGE, "batch_verdict", _of(parts=few, meter_proven=False), None


def printing() -> Iterator[tuple]:
    iso = "ISO 80000-1:2009, B.2 and B.3 rule A (from memory)"
    for value, step, shown in (
        (12.223, 0.1, "12.2"), (12.251, 0.1, "12.3"), (12.275, 0.1, "12.3"), (12.25, 0.1, "12.2"), (12.35, 0.1, "12.4"),
        (1222.3, 10, "1220"), (1225.1, 10, "1230"), (1227.5, 10, "1230"), (1225.0, 10, "1220"), (1235.0, 10, "1240"),
    ):  # fmt: skip
        yield iso, "show_value", _of(value=value, step=step), _figure(shown)
        yield iso, "round_half_even", _of(value=value, step=step), _figure(float(shown))
    for value, step in ((56.2, 0.1), (56.2, 0.01), (56.0, 1.0), (56.25, 0.1), (56.35, 0.1), (52.5, 5), (57.5, 5),
                        (0.125, 0.25), (0.375, 0.25), (-0.04, 0.1), (-3.25, 0.1), (-3.35, 0.1), (0.05, 0.1),
                        (0.0, 0.1), (-0.7, 0.5), (1234567.0, 0.1), (62.03333333333333, 0.1), (149.95, 0.1),
                        (1.0, 0.0)):  # fmt: skip
        yield EDGE, "show_value", _of(value=value, step=step, decimal_mark=","), None
        yield EDGE, "show_signed", _of(value=value, step=step), None
        yield EDGE, "round_half_even", _of(value=value, step=step), None
    yield EDGE, "show_value", _of(value=56.2, step=0.1, decimal_mark="'"), None
    for U, step in ((0.3, 0.1), (0.1 + 0.2, 0.1), (0.3000000001, 0.1), (0.300001, 0.1), (0.31, 0.1), (0.0, 0.1),
                    (0.01, 0.1), (1.01, 1), (0.6, 0.5), (1.0785793124908958, 0.1), (-0.1, 0.1)):  # fmt: skip
        yield EDGE, "show_give_or_take", _of(U=U, step=step), None
    for chance in (0.0, 0.0004, 0.0005, 0.0049, 0.005, 0.006, 0.125, 0.135, 0.5, 0.9192433407662289, 0.99, 0.9949,
                   0.995, 0.9994, 0.9995, 1.0, 1.1, -0.1):  # fmt: skip
        yield EDGE, "show_percent", _of(chance=chance, decimal_mark=","), None
    for step in (0.01, 0.05, 0.1, 0.25, 0.5, 1, 2.0, 10, 0.0):
        yield EDGE, "step_decimals", {"step": step}, None


def typed() -> Iterator[tuple]:
    texts = [
        "61,4", " 61.4 ", "61", "61.", ".5", "+61.4", "061.40", "0", "-0", "150", "150.0",
        "\u00a061.4\u202f", "", "  ", "\u00a0", "six", "NaN", "inf", "1e3", "0x3d", "6_1", "+", "-", ".",
        "..", "--5", "61 4", "1'234", "5-3", "61,4,2", "1.234,5", "1,234.5", "61..4",
        "\u0666\u0661\u066b\u0664", "\u0666\u0661", "\uff16\uff11", "\u0966", "61\u00b2", "\u00bd",
        "\u2166", "150.1", "150.0001", "-0.1", "\u22125", "9" * 400, "61.45", "61.405", "1.234", "0.001",
        "0." + "1" * 400, "562", " 562 ", "0562", "1000", "5620", "5625", "562.0", "+562", "99999",
        "0" * 400 + "61.4",
    ]  # fmt: skip
    for text in texts:
        yield EDGE, "parse_reading", _of(text=text, lower=0, upper=150, step=0.1), None
    lines = [
        "L 61.2 a 203.4", "#012 61,2 OK", "-- 61.2%", "61.4 %", "L 61.2 a 3.4", "L 61.2 a 61,2", "a 3.4 L 61.2",
        "no number", "61.25 OK", "3.4 61.25 OK", "OK 203.4", "1.234,5 OK", "1,234.5 g", "1 234 OK", "1'234 OK",
        "6.1e1 OK", "1e3 L 61.2", "12:30 61.2", "2026-05-14 12:30:05 L=61.2", "2026-05-14T12:30Z;61.2",
        "14.05.2026 61.2", "61.2 14.05.2026", "14/05/2026 61.2", "12:30", "2026-05-14 OK", "#61.2", "L61.2", "61.2L",
        "B12 61.2", "(61.2) OK", "L:61.2,", "GS,61.2", "ST,GS,  61.2", "+  61.2 OK", "-  61.2 OK", "L - 5.0",
        "--5 OK", "-5 OK", "\u22125 OK", "OK .5", "OK ,5", "61,2, OK", "61.2. OK", "61.2\u00a0%", "L\t61.2",
        "61.2|OK", "61.2;61.3", "61 4 OK", "6\u00b2 61.2", "\u0666\u0661 61.2", "a:61.2 b:61.2 c:3", "\u00c4:61.2",
        "x" * 200 + " 61.2", "x" * 190 + " 61.2", "61.2 \x02", "\r\nL 61.2\r\n", "61.2/62 OK", "0x3d OK", "NaN 61.2",
        "562 OK", "-0 OK", "0 OK",
    ]  # fmt: skip
    for text in lines:
        yield EDGE, "parse_reading", _of(text=text, lower=0, upper=150, step=0.1), None
    for text in ("L - 5.0", "- 5 OK", "-5 OK", "\u22125 OK", "--5 OK", "L 61.5 a 3", "L -3.5 a -3,5", "61.2 -3"):
        yield EDGE, "parse_reading", _of(text=text, lower=-20, upper=150.5, step=0.5), None
    for text in ("L 61.2 a 3.4", "61.25 3", "OK", "61 4", "61.2"):
        yield EDGE, "parse_reading", _of(text=text, lower=0, upper=150, step=0.1, first=True), None
    for text in ("562", "560", "5650", "61.5", "-20", "-20.5", "\u22120,5", "-0.3", "20.5"):
        yield EDGE, "parse_reading", _of(text=text, lower=-20, upper=150.5, step=0.5), None
    for lower, upper, step in ((0, 150, 0), (0, 150, 0.001), (150, 0, 0.1), (0, 0, 0.1)):
        yield EDGE, "parse_reading", _of(text="61.4", lower=lower, upper=upper, step=step), None
    for text, places in (("12,35", 2), ("12", 2), ("-4.5", 1), ("60", 0), ("60.0", 0), ("1.234", 3), ("12,355", 2),
                         ("60.5", 0), ("1.234,5", 2), ("", 2), ("9" * 15, 0), ("9" * 16, 0), ("9" * 14, 2),
                         ("\u0663", 0), ("-0", 1), (".", 1)):  # fmt: skip
        yield EDGE, "parse_decimal", _of(text=text, places=places), None


def plausibility() -> Iterator[tuple]:
    three = ([56.2, 56.3, 65.2], [56.2, 56.3, 58.0])
    for readings in ([56.2], [56.2, 65.2], [56.2, 60.2], *three, [56.0, 56.0, 65.0, 65.0]):
        for index in range(len(readings)):
            yield EDGE, "far_from_fellows", _of(readings=readings, index=index, sigma_r=0.3, step=0.1), None
    yield EDGE, "far_from_fellows", _of(readings=[56.2], index=1, sigma_r=0.3, step=0.1), None
    for value in (58.0, 58.7, 62.0, 65.3, 66.0):
        for n in (0, 4, 5, 30):
            yield EDGE, "far_from_history", _of(
                value=value, history_mean=62.0, history_sd=0.6, n=n, sigmas=ASSUMED_WHOLE, step=0.1), None  # fmt: skip
    still = {"sigma_r": 0.0, "sigma_f": 0.0, "source": "routine"}
    for value in (62.4, 62.5):
        given = _of(value=value, history_mean=62.0, history_sd=0.0, n=9, sigmas=still, step=0.1)
        yield EDGE, "far_from_history", given, None
    given = _of(value=62.0, history_mean=None, history_sd=None, n=0, sigmas=ASSUMED_GROUND, step=0.1)
    yield EDGE, "far_from_history", given, None


def all_cases() -> Iterator[tuple]:
    """Every case, published ones and edges, in the order of the file."""
    for group in (replicates, results, conformity, batches, printing, typed, plausibility):
        yield from group()
