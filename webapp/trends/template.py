"""How a picture of a run looks: an Altair chart without a number in it, made once for each shape and then only filled.

Everything that differs from one picture to the next comes by name: rows of data, and signals for what is one number or
word. So neither Altair nor the Vega-Lite compiler has to work when a page is asked for.
"""

from __future__ import annotations

import functools
import threading

# Units of a picture: wide; high of the values alone, and of each panel where there are several.
SIZES = {"wide": (830, 300, 165), "slim": (300, 240, 150)}
TEXT = {"wide": 15, "slim": 14}
WORDS = ("lighter", "darker")

_one_at_a_time = threading.Lock()


def template(size: str, panels: int) -> dict:
    """The Vega specification of a picture with so many panels. Made once in a process. ImportError, ValueError: the
    renderer is not there, or failed."""
    with _one_at_a_time:
        return _compiled(size, panels)


@functools.cache
def _compiled(size: str, panels: int) -> dict:
    import vl_convert

    made = vl_convert.vegalite_to_vega(specification(size, panels))
    return made | {"marks": [trusting(one) for one in made["marks"]]}


def trusting(mark: dict) -> dict:
    """The mark and those in it without the compiler's tests for missing numbers: our rows are whole."""
    look = mark["encode"]["update"] if "encode" in mark else {}
    plain = {name: rules[-1] if isinstance(rules, list) else rules for name, rules in look.items()}
    made = mark | {"encode": {"update": plain}} if look else mark
    return made | {"marks": [trusting(one) for one in made["marks"]]} if "marks" in made else made


def specification(size: str, panels: int) -> dict:
    """The Vega-Lite specification, its layers by way of Altair.

    Not held against the schema, which takes long: what is wrong with it the renderer says too, and the tests look at it
    with Altair's own check.
    """
    import altair as alt
    from altair.utils import schemapi

    with schemapi.debug_mode(False):
        made = Template(alt, size, panels).chart()
    return made | {"datasets": {name: [] for name in names(panels)} | {"once": [{}]}}


def names(panels: int) -> list[str]:
    """The rows that a picture takes."""
    each = ("wash", "rules", "average", "ends", "bars", "marks", "rings", "spots", "numbers")
    shared = ["events", "days", "moving", "steps", "step_numbers"]
    return shared + [f"{name}{no}" for no in range(panels) for name in each]


def layered(layers: list, width: float, height: float) -> dict:
    """Charts over each other. Put together by hand: Altair copies a chart, and all in it, at every step."""
    made = [chart.to_dict(validate=False) for chart in layers]
    for one in made:
        del one["$schema"], one["config"]
    return {"layer": made, "width": width, "height": height}


class Template:
    """The parts of a chart. Each method is one thing that is drawn."""

    def __init__(self, alt, size: str, panels: int) -> None:
        self.alt, self.panels, self.text = alt, panels, TEXT[size]
        self.width, alone, several = SIZES[size]
        self.height = alone if panels == 1 else several
        scale = alt.Scale(domain=[-0.5, alt.expr("last")], nice=False, zero=False)
        self.x = alt.X("x:Q", scale=scale, axis=None)

    def chart(self) -> dict:
        """All of it: the panels, below them the moving ranges where there is one panel, and the days."""
        alt = self.alt
        parts = [layered(self.panel(no), self.width, self.height) for no in range(self.panels)]
        if self.panels == 1:
            parts.append(layered(self.moving(), self.width, self.height * 0.25))
        parts.append(layered([self.days()], self.width, 18))
        config = {
            "aria": False, "background": "transparent", "padding": 4, "font": "sans-serif", "view": {"stroke": None},
            "mark": {"invalid": None},
        }  # fmt: skip
        numbers = ["last", "size", "most", *(f"{name}{no}" for no in range(self.panels) for name in ("low", "high"))]
        texts = [*WORDS, *(f"name{no}" for no in range(self.panels))]
        signals = dict.fromkeys(numbers, 1) | dict.fromkeys(texts, "")
        signals |= {f"down{no}": False for no in range(self.panels)}
        return {
            "$schema": alt.SCHEMA_URL, "config": config, "vconcat": parts, "spacing": 8 if self.panels == 1 else 34,
            "params": [{"name": name, "value": value} for name, value in signals.items()],
        }  # fmt: skip

    def of(self, name: str):
        """Rows by their name."""
        return self.alt.Chart(self.alt.NamedData(name=name))

    def panel(self, no: int) -> list:
        """The values of one kind. From below: band, lines, events, marks, signals, words."""
        alt = self.alt
        scale = alt.Scale(
            domain=[alt.expr(f"low{no}"), alt.expr(f"high{no}")], nice=False, zero=False, reverse=alt.expr(f"down{no}")
        )
        y = alt.Y("y:Q", scale=scale, axis=None)
        layers = [self.wash(no, y), self.rules(f"rules{no}", y), *self.average(no, y), *self.events(no)]
        layers += [self.bars(no, y), self.marks(no, y), *self.signals(no, y), *self.words(no)]
        return [*layers, self.numbers(f"numbers{no}", y)]

    def wash(self, no: int, y):
        """Between the rails."""
        chart = self.of(f"wash{no}").mark_rect(fill="var(--in-wash)", opacity=1)
        return chart.encode(x=self.x, x2="x2:Q", y=y, y2="y2:Q")

    def rules(self, name: str, y):
        """Lines along the axis: rails, centre, limits. Each row says how it looks."""
        as_they_say = {
            "stroke": self.alt.Stroke("stroke:N", scale=None),
            "strokeWidth": self.alt.StrokeWidth("width:Q", scale=None),
            "strokeDash": self.alt.StrokeDash("dash:N", scale=None),
        }
        return self.of(name).mark_rule().encode(x=self.x, x2="x2:Q", y=y, **as_they_say)

    def average(self, no: int, y) -> list:
        """The running mean, with limits of its own."""
        ends = self.of(f"ends{no}").mark_line(stroke="var(--act)", strokeWidth=1, strokeDash=[2, 3])
        line = self.of(f"average{no}").mark_line(stroke="var(--act)", strokeWidth=2.5, strokeJoin="round")
        return [ends.encode(x=self.x, y=y, detail="end:N"), line.encode(x=self.x, y=y)]

    def events(self, no: int) -> list:
        """What happened: a line where, through all panels, and its letter above the first."""
        alt = self.alt
        layers = [self.of("events").mark_rule(stroke="var(--ink-soft)", strokeWidth=1, strokeDash=[2, 4])
                  .encode(x=self.x)]  # fmt: skip
        if no == 0:
            layers.append(
                self.of("events")
                .mark_text(fill="var(--ink-soft)", fontSize=self.text, baseline="bottom", align="center")
                .encode(x=self.x, y=alt.value(-9), text="t:N")
            )
        return layers

    def bars(self, no: int, y):
        """The range that a mark stands for."""
        return self.of(f"bars{no}").mark_rule(stroke="var(--rail)", strokeWidth=2).encode(x=self.x, y=y, y2="y2:Q")

    def marks(self, no: int, y):
        """The values, each a link."""
        alt = self.alt
        return (
            self.of(f"marks{no}").mark_point(size=alt.expr("size"), strokeWidth=1.5, opacity=1)
            .encode(
                x=self.x, y=y, shape=alt.Shape("shape:N", scale=None), fill=alt.Fill("fill:N", scale=None),
                stroke=alt.Stroke("stroke:N", scale=None), href="url:N",
            )
        )  # fmt: skip

    def signals(self, no: int, y) -> list:
        """A ring round each value at which something fired, and the rule's number; or spots along the edge."""
        alt = self.alt
        rings, spots = self.of(f"rings{no}"), self.of(f"spots{no}")
        return [
            rings.mark_point(filled=False, size=260, stroke="var(--ink)", opacity=1)
            .encode(
                x=self.x, y=y, shape=alt.Shape("shape:N", scale=None),
                strokeWidth=alt.StrokeWidth("width:Q", scale=None),
            ),
            rings.mark_text(fill="var(--ink)", fontSize=self.text, fontWeight=700, dy=-18)
            .encode(x=self.x, y=y, text="t:N"),
            spots.mark_point(shape="circle", size=40, stroke="var(--ink)", strokeWidth=1, opacity=1)
            .encode(x=self.x, y=alt.value(-1), fill=alt.Fill("fill:N", scale=None)),
        ]  # fmt: skip

    def words(self, no: int) -> list:
        """Which way is lighter, and where there are several panels whose they are."""
        alt, look = self.alt, {"fill": "var(--ink)", "fontSize": self.text, "fontWeight": 600, "align": "left"}
        found = [
            self.of("once").mark_text(x=4, y=at, text=alt.expr(word), **look)
            for word, at in zip(WORDS, (10, self.height - 10), strict=True)
        ]
        if self.panels > 1:
            above = -34 if no == 0 else -16
            found.append(self.of("once").mark_text(x=0, y=above, text=alt.expr(f"name{no}"), **look))
        return found

    def numbers(self, name: str, y):
        """Some numbers beside it. The renderer's own axis would take as long as all the rest."""
        text = self.of(name).mark_text(x=-8, fill="var(--ink-soft)", fontSize=self.text, align="right")
        return text.encode(y=y, text="t:N")

    def moving(self) -> list:
        """The moving ranges, with their limit."""
        alt = self.alt
        y = alt.Y("y:Q", scale=alt.Scale(domain=[0, alt.expr("most")], nice=False), axis=None)
        point = {"fill": "var(--ink-soft)", "size": 14}
        return [
            self.of("moving").mark_line(stroke="var(--ink-soft)", strokeWidth=1.5, point=point).encode(x=self.x, y=y),
            self.rules("steps", y),
            self.numbers("step_numbers", y),
        ]

    def days(self):
        """Some days below all."""
        chart = self.of("days")
        text = chart.mark_text(fill="var(--ink-soft)", fontSize=self.text, baseline="top", dy=-8)
        return text.encode(x=self.x, text="t:N")
