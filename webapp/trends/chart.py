"""The picture of a run: an Altair chart with all data inline, made an SVG by vl-convert, which may fetch nothing.

The colours are the page's own tokens, by name: one picture serves light, dark and paper. It goes into the page itself,
so that each mark can be a link; what a page may not hold (styles, foreign addresses) is not in it.
"""

from __future__ import annotations

import hashlib
import json
import logging
import threading
import xml.etree.ElementTree as ET
from collections import OrderedDict

from webapp.trends.drawing import SLIM, WIDE, Drawing, Mark

# By kind, as everywhere (templates/ui/marks.html): oval is whole bean, square is ground, a bar the difference.
OVAL = "M-0.82,0A0.82,1.05,0,1,1,0.82,0A0.82,1.05,0,1,1,-0.82,0Z"
SQUARE, BAR = "M-0.85,-0.85H0.85V0.85H-0.85Z", "M-0.4,-1.1H0.4V1.1H-0.4Z"
# A ring that was ticked off.
TICKED = "M-1,0A1,1,0,1,1,1,0A1,1,0,1,1,-1,0Z M0.5,0.95L0.95,1.4L1.7,0.4"
SHAPES = {"whole": OVAL, "ground": SQUARE, "difference": BAR}
DIAMOND, UP, DOWN = "M0,-1.25L1.25,0L0,1.25L-1.25,0Z", "M0,-1.2L1.2,0.95H-1.2Z", "M0,1.2L1.2,-0.95H-1.2Z"
COLOURS = {"inside": "var(--in)", "undecided": "var(--close)", "outside": "var(--out)", "": "var(--ink)"}

KEPT = 200
_pictures: OrderedDict[str, str] = OrderedDict()
_one_at_a_time = threading.Lock()

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
ET.register_namespace("", SVG)


def picture(drawing: Drawing, title: str, text: str, sides: tuple[str, str], decimal_mark: str = ".") -> str:
    """The SVG element of a drawing. title, text: what it is and what it shows, for who does not see it; sides: the
    words for lighter and darker. Made once for the same content, then kept."""
    said = [drawing.as_data(), title, text, sides, decimal_mark]
    key = hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()
    with _one_at_a_time:
        if key not in _pictures:
            _pictures[key] = finished(svg_of(drawing, sides, decimal_mark), drawing, title, text)
            while len(_pictures) > KEPT:
                _pictures.popitem(last=False)
        _pictures.move_to_end(key)
        return _pictures[key]


class NoPicture(Exception):
    """The renderer is not there, or failed: the page goes on without the picture."""


def svg_of(drawing: Drawing, sides: tuple[str, str], decimal_mark: str) -> str:
    """The SVG as it comes out of the renderer. NoPicture if nothing does."""
    numbers = {"decimal": decimal_mark, "thousands": "", "grouping": [3], "currency": ["", ""]}
    try:
        import vl_convert

        return vl_convert.vegalite_to_svg(specification(drawing, sides), allowed_base_urls=[], format_locale=numbers)
    except (ImportError, ValueError) as problem:
        logging.getLogger("drumside").exception("no picture of a trend")
        raise NoPicture from problem


def specification(drawing: Drawing, sides: tuple[str, str], valid: bool = False) -> dict:
    """The Vega-Lite specification, by way of Altair. valid: have it held against the schema, which takes long."""
    import altair as alt

    width, height, _most = WIDE if drawing.size == "wide" else SLIM
    text = 15 if drawing.size == "wide" else 14
    last = len(drawing.marks) - 0.5
    scale = alt.Scale(domain=[-0.5, last], nice=False, zero=False)
    none = alt.Axis(labels=False, ticks=False, domain=False, grid=False, title=None)
    x = alt.X("x:Q", scale=scale, axis=none)
    y_scale = alt.Scale(domain=list(drawing.ends), nice=False, zero=False, reverse=not drawing.lighter_up)
    y_axis = alt.Axis(
        title=None, grid=False, domain=False, tickCount=6, labelFontSize=text, labelColor="var(--ink-soft)",
        tickColor="var(--hair)", labelPadding=6,
    )  # fmt: skip
    y = alt.Y("y:Q", scale=y_scale, axis=y_axis)

    data: dict[str, list[dict]] = {}

    def of(rows: list[dict], **size: int) -> alt.Chart:
        # By name: Altair copies a chart at every step, and with it all data that is in it.
        name = f"rows{len(data)}"
        data[name] = rows
        return alt.Chart(alt.NamedData(name=name), **size)

    top = [*bands(alt, of, drawing, x, y), *lines(alt, of, drawing, x, y, last)]
    top += [*events(alt, of, drawing, x, text), *dots(alt, of, drawing, x, y, width)]
    top += [*signals(alt, of, drawing, x, y, text), *side_words(alt, of, sides, height, text)]
    main = alt.layer(*top, width=width, height=height)
    moving = alt.layer(*ranges(alt, of, drawing, x, y_axis, last), width=width, height=height * 0.25)
    foot = (
        of([{"x": at, "t": day} for at, day in drawing.days], width=width, height=18)
        .mark_text(fill="var(--ink-soft)", fontSize=text, baseline="top", dy=-8)
        .encode(x=x, text="t:N")
    )  # fmt: skip
    config = {"background": "transparent", "padding": 4, "font": "sans-serif", "view": {"stroke": None}}
    # What is wrong with it the renderer says too, and the tests look at it with Altair's own check.
    made = alt.vconcat(main, moving, foot, spacing=8, config=config).to_dict(validate=valid)
    return made | {"datasets": data}


def bands(alt, of, drawing: Drawing, x, y) -> list:
    """The wash between the rails, and the rails."""
    if not drawing.rails:
        return []
    rows = [{"x": a, "x2": b, "y": low, "y2": high} for a, b, low, high, _low, _high in drawing.rails]
    edges = [
        {"x": a, "x2": b, "y": value}
        for a, b, low, high, *ends in drawing.rails
        for value, there in zip((low, high), ends, strict=True)
        if there
    ]
    return [
        of(rows).mark_rect(fill="var(--in-wash)", opacity=1).encode(x=x, x2="x2:Q", y=y, y2="y2:Q"),
        of(edges).mark_rule(stroke="var(--rail)", strokeWidth=3).encode(x=x, x2="x2:Q", y=y),
    ]


def lines(alt, of, drawing: Drawing, x, y, last: float) -> list:
    """Centre, limits, and the running mean with limits of its own, from where on they judge."""
    if drawing.limits is None:
        return []
    centre, lower, upper, _range = drawing.limits
    span = {"x": drawing.judged, "x2": last}
    average = [{"x": one.x, "y": one.average} for one in drawing.marks if one.average is not None]
    ends = [
        [{"x": one.x, "y": one.average_ends[no]} for one in drawing.marks if one.average_ends is not None]
        for no in (0, 1)
    ]
    made = [
        of([span | {"y": centre}]).mark_rule(stroke="var(--act)", strokeWidth=1).encode(x=x, x2="x2:Q", y=y),
        of([span | {"y": lower}, span | {"y": upper}])
        .mark_rule(stroke="var(--act)", strokeWidth=1.5, strokeDash=[7, 4]).encode(x=x, x2="x2:Q", y=y),
    ]  # fmt: skip
    if average:
        for rows in ends:
            made.append(of(rows).mark_line(stroke="var(--act)", strokeWidth=1, strokeDash=[2, 3]).encode(x=x, y=y))
        made.append(of(average).mark_line(stroke="var(--act)", strokeWidth=2.5, strokeJoin="round").encode(x=x, y=y))
    return made


def events(alt, of, drawing: Drawing, x, text: int) -> list:
    """What happened: a line where, and its letter."""
    if not drawing.events:
        return []
    rows = [{"x": at, "t": letters} for at, letters in drawing.events]
    return [
        of(rows).mark_rule(stroke="var(--ink-soft)", strokeWidth=1, strokeDash=[2, 4]).encode(x=x),
        of(rows).mark_text(fill="var(--ink-soft)", fontSize=text, baseline="bottom", align="center")
        .encode(x=x, y=alt.value(-4), text="t:N"),
    ]  # fmt: skip


def dots(alt, of, drawing: Drawing, x, y, width: int) -> list:
    """The marks, and the range that each stands for."""
    made = []
    if drawing.each != "batch":
        bars = [{"x": one.x, "y": one.low, "y2": one.high} for one in drawing.marks]
        made.append(of(bars).mark_rule(stroke="var(--rail)", strokeWidth=2).encode(x=x, y=y, y2="y2:Q"))
    gap = width / len(drawing.marks)
    size = max(12.0, min(90.0, (gap * 0.8) ** 2))
    rows = [dot(drawing, one) for one in drawing.marks]
    made.append(
        of(rows).mark_point(size=size, strokeWidth=1.5, opacity=1).encode(
            x=x, y=y, shape=alt.Shape("shape:N", scale=None), fill=alt.Fill("fill:N", scale=None),
            stroke=alt.Stroke("stroke:N", scale=None), href="url:N", description="label:N",
        )
    )  # fmt: skip
    return made


def dot(drawing: Drawing, one: Mark) -> dict:
    """A mark's shape and colours: each state has its own shape, so that nothing rests on colour alone; hollow where no
    check stands behind the meter."""
    colour = COLOURS[one.state]
    shape = SHAPES[drawing.kind]
    if one.state == "undecided":
        shape = DIAMOND
    elif one.state == "outside":
        shape = UP if one.side == "lighter" else DOWN
    return {
        "x": one.x, "y": one.value, "shape": shape, "fill": colour if one.proven else "var(--sheet)",
        "stroke": colour, "url": one.url, "label": one.label,
    }  # fmt: skip


def signals(alt, of, drawing: Drawing, x, y, text: int) -> list:
    """A ring round each value at which something fired, and the rule's number; many of them as spots along the edge.
    What is closed has a thinner ring with a tick, or an empty spot."""
    there: dict[tuple[int, float], list[str]] = {}
    for at, value, rule in drawing.signals:
        there.setdefault((at, value), []).append(rule)
    is_open = {where: where not in drawing.closed for where in there}
    made = []
    for still in (False, True):
        rows = [{"x": at, "y": value} for (at, value), this in is_open.items() if this is still]
        if not rows:
            continue
        if drawing.spots:
            fill = "var(--ink)" if still else "var(--sheet)"
            marks = of([{"x": at} for at in sorted({row["x"] for row in rows})]).mark_point(
                shape="circle", size=40, fill=fill, stroke="var(--ink)", strokeWidth=1, opacity=1
            )
            made.append(marks.encode(x=x, y=alt.value(4)))
            continue
        shape, width = ("circle", 2) if still else (TICKED, 1.25)
        made.append(
            of(rows).mark_point(shape=shape, filled=False, size=260, stroke="var(--ink)", strokeWidth=width, opacity=1)
            .encode(x=x, y=y)
        )  # fmt: skip
    if there and not drawing.spots:
        rows = [{"x": at, "y": value, "t": " ".join(fired)} for (at, value), fired in there.items()]
        made.append(
            of(rows).mark_text(fill="var(--ink)", fontSize=text, fontWeight=700, dy=-18).encode(x=x, y=y, text="t:N")
        )
    return made


def side_words(alt, of, sides: tuple[str, str], height: int, text: int) -> list:
    """Which way is lighter."""
    rows = [{"t": sides[0], "at": 10}, {"t": sides[1], "at": height - 10}]
    return [
        of([row]).mark_text(fill="var(--ink)", fontSize=text, fontWeight=600, align="left", x=4).encode(
            y=alt.value(row["at"]), text="t:N"
        )
        for row in rows
    ]  # fmt: skip


def ranges(alt, of, drawing: Drawing, x, axis, last: float) -> list:
    """The moving ranges below, with their limit."""
    moving = [{"x": one.x, "y": one.moving} for one in drawing.marks if one.moving is not None]
    limit = drawing.limits[3] if drawing.limits else 0.0
    most = max([limit, *(one["y"] for one in moving)], default=0.0) or drawing.step
    few = axis.copy()
    few.tickCount = 2
    y = alt.Y("y:Q", scale=alt.Scale(domain=[0, most * 1.08], nice=False), axis=few)
    layers = [
        of(moving).mark_line(stroke="var(--ink-soft)", strokeWidth=1.5, point={"fill": "var(--ink-soft)", "size": 14})
        .encode(x=x, y=y)
    ]  # fmt: skip
    if drawing.limits:
        layers.append(
            of([{"x": drawing.judged, "x2": last, "y": limit}])
            .mark_rule(stroke="var(--act)", strokeWidth=1.5, strokeDash=[7, 4]).encode(x=x, x2="x2:Q", y=y)
        )  # fmt: skip
    return layers


def finished(svg: str, drawing: Drawing, title: str, text: str) -> str:
    """As it goes into a page: without a size of its own, named and told, with the links as they were meant."""
    root = ET.fromstring(svg)
    name = f"trend-{drawing.size}"
    for gone in ("width", "height"):
        root.attrib.pop(gone, None)
    root.set("class", drawing.size)
    root.set("role", "group")
    root.set("aria-labelledby", f"{name}-title")
    root.set("aria-describedby", f"{name}-text")
    urls = iter([one.url for one in drawing.marks])
    for element in root.iter():
        for gone in ("role", "aria-roledescription", "aria-hidden", "style", "pointer-events"):
            if element is not root:
                element.attrib.pop(gone, None)
        if element.tag == f"{{{SVG}}}a":
            # The renderer puts its own address before ours. The marks come in our order.
            element.attrib.pop(f"{{{XLINK}}}href", None)
            element.set("href", next(urls))
            # The same links stand in the table: nobody has to pass a hundred of them with the keyboard.
            element.set("tabindex", "-1")
            element.set("aria-label", element[0].attrib.pop("aria-label", ""))
        else:
            element.attrib.pop("aria-label", None)
    for no, (tag, words) in enumerate((("title", title), ("desc", text))):
        told = ET.Element(f"{{{SVG}}}{tag}", {"id": f"{name}-{'title' if tag == 'title' else 'text'}"})
        told.text = words
        root.insert(no, told)
    return ET.tostring(root, encoding="unicode")
