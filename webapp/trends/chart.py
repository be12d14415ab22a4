"""The picture of a run: the template filled with its numbers, made an SVG by vl-convert, which may fetch nothing.

The colours are the page's own tokens, by name: one picture serves light, dark and paper. It goes into the page itself,
so that each mark can be a link; what a page may not hold (styles, foreign addresses) is not in it.
"""

from __future__ import annotations

import hashlib
import json
import logging
import math
import threading
import xml.etree.ElementTree as ET
from collections import OrderedDict

from webapp.measure import show_value
from webapp.trends.drawing import Drawing, Mark, Panel
from webapp.trends.template import SIZES, template

# By kind, as everywhere (templates/ui/marks.html): oval is whole bean, square is ground, a bar the difference.
OVAL = "M-0.82,0A0.82,1.05,0,1,1,0.82,0A0.82,1.05,0,1,1,-0.82,0Z"
SQUARE, BAR = "M-0.85,-0.85H0.85V0.85H-0.85Z", "M-0.4,-1.1H0.4V1.1H-0.4Z"
# A ring that was ticked off.
TICKED = "M-1,0A1,1,0,1,1,1,0A1,1,0,1,1,-1,0Z M0.5,0.95L0.95,1.4L1.7,0.4"
SHAPES = {"whole": OVAL, "ground": SQUARE, "difference": BAR}
DIAMOND, UP, DOWN = "M0,-1.25L1.25,0L0,1.25L-1.25,0Z", "M0,-1.2L1.2,0.95H-1.2Z", "M0,1.2L1.2,-0.95H-1.2Z"
COLOURS = {"inside": "var(--in)", "undecided": "var(--close)", "outside": "var(--out)", "": "var(--ink)"}
RAIL = {"stroke": "var(--rail)", "width": 3, "dash": []}
CENTRE = {"stroke": "var(--act)", "width": 1, "dash": []}
LIMIT = {"stroke": "var(--act)", "width": 1.5, "dash": [7, 4]}

# Some 90 kB each.
KEPT = 100
_pictures: OrderedDict[str, str] = OrderedDict()
_one_at_a_time = threading.Lock()

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
ET.register_namespace("", SVG)


def picture(drawing: Drawing, title: str, text: str, sides: tuple[str, str], decimal_mark: str = ".") -> str:
    """The SVG element of a drawing. title, text: what it is and what it shows, for who does not see it; sides: the
    words for lighter and darker. Made once for the same content, then kept. NoPicture if nothing makes one."""
    rows, signals = rows_of(drawing, decimal_mark), signals_of(drawing, sides)
    said = [drawing.size, [one.label for one in drawing.marks], rows, signals, title, text]
    key = hashlib.sha256(json.dumps(said).encode()).hexdigest()
    with _one_at_a_time:
        if key not in _pictures:
            made = svg_of(filled(drawing, rows, signals))
            _pictures[key] = finished(made, drawing, title, text)
            while len(_pictures) > KEPT:
                _pictures.popitem(last=False)
        _pictures.move_to_end(key)
        return _pictures[key]


class NoPicture(Exception):
    """The renderer is not there, or failed: the page goes on without the picture."""


def filled(drawing: Drawing, rows: dict[str, list[dict]], signals: dict[str, object]) -> str:
    """The template with rows and signals in it, as JSON. NoPicture if there is no template."""
    try:
        made = template(drawing.size, len(drawing.panels))
    except (ImportError, ValueError) as problem:
        logging.getLogger("drumside").exception("no template of a trend")
        raise NoPicture from problem
    data = [one | {"values": rows[one["name"]]} if one["name"] in rows else one for one in made["data"]]
    told = [one | {"value": signals[one["name"]]} if one["name"] in signals else one for one in made["signals"]]
    return json.dumps(made | {"data": data, "signals": told})


def svg_of(vega: str) -> str:
    """The SVG as it comes out of the renderer. NoPicture if nothing does."""
    try:
        import vl_convert

        return vl_convert.vega_to_svg(vega, allowed_base_urls=[])
    except (ImportError, ValueError) as problem:
        logging.getLogger("drumside").exception("no picture of a trend")
        raise NoPicture from problem


def warm_up() -> None:
    """Make the templates and a first picture, so that nobody who asks for one has to wait for the renderer."""
    mark = Mark(0, 0.0, 0.0, 0.0, None, None, "", "", True, "", "/")
    try:
        for panels in (1, 3):
            for size in SIZES:
                some = (Panel("whole", "", (mark,), (), None, (), (-1.0, 1.0), True, 0.1),) * panels
                empty = Drawing(size, "batch", 1, some, (), ())
                svg_of(filled(empty, rows_of(empty, "."), signals_of(empty, ("", ""))))
    except NoPicture:
        return


def signals_of(drawing: Drawing, sides: tuple[str, str]) -> dict[str, object]:
    """What is one number or word in a picture, by its name in the template."""
    gap = SIZES[drawing.size][0] / drawing.places
    found = {
        "last": drawing.places - 0.5, "size": max(12.0, min(90.0, (gap * 0.8) ** 2)), "lighter": sides[0],
        "darker": sides[1], "most": most_moving(drawing.panels[0]) * 1.08,
    }  # fmt: skip
    for no, panel in enumerate(drawing.panels):
        low, high = panel.ends
        found |= {f"low{no}": low, f"high{no}": high, f"down{no}": not panel.lighter_up, f"name{no}": panel.name}
    return found


def rows_of(drawing: Drawing, decimal_mark: str) -> dict[str, list[dict]]:
    """What is drawn row by row, by its name in the template."""
    last, few = drawing.places - 0.5, 6 if len(drawing.panels) == 1 else 4
    reach = 0.0, most_moving(drawing.panels[0])
    found = {
        "events": [{"x": at, "t": letters} for at, letters in drawing.events],
        "days": [{"x": at, "t": day} for at, day in drawing.days],
        "moving": moving(drawing.panels[0]), "steps": steps(drawing.panels[0], last),
        "step_numbers": numbers(*reach, 3, decimal_mark),
    }  # fmt: skip
    for no, panel in enumerate(drawing.panels):
        found |= {
            f"wash{no}": [{"x": a, "x2": b, "y": low, "y2": high} for a, b, low, high, *_ends in panel.rails],
            f"rules{no}": [*rails(panel), *limits(panel, last)], f"average{no}": average(panel),
            f"ends{no}": average_ends(panel), f"bars{no}": bars(panel) if drawing.each != "batch" else [],
            f"marks{no}": dots(panel), f"rings{no}": rings(panel), f"spots{no}": spots(panel),
            f"numbers{no}": numbers(*panel.ends, few, decimal_mark),
        }  # fmt: skip
    return found


def rails(panel: Panel) -> list[dict]:
    """The ends of the bands, where there are any."""
    return [
        {"x": a, "x2": b, "y": value, **RAIL}
        for a, b, low, high, *ends in panel.rails
        for value, there in zip((low, high), ends, strict=True)
        if there
    ]


def limits(panel: Panel, last: float) -> list[dict]:
    """Centre and limits."""
    if panel.limits is None:
        return []
    looks = zip(panel.limits, (CENTRE, LIMIT, LIMIT), strict=False)
    return [{"x": panel.judged, "x2": last, "y": value, **look} for value, look in looks]


def average(panel: Panel) -> list[dict]:
    """The running mean."""
    return [{"x": one.x, "y": one.average} for one in panel.marks if one.average is not None]


def average_ends(panel: Panel) -> list[dict]:
    """The limits of the running mean."""
    there = [one for one in panel.marks if one.average_ends is not None]
    return [{"x": one.x, "y": one.average_ends[no], "end": no} for no in (0, 1) for one in there]


def bars(panel: Panel) -> list[dict]:
    """The range that each mark stands for."""
    return [{"x": one.x, "y": one.low, "y2": one.high} for one in panel.marks if one.low < one.high]


def dots(panel: Panel) -> list[dict]:
    """The marks: each state has its own shape, so that nothing rests on colour alone; hollow where no check stands
    behind the meter."""
    found = []
    for one in panel.marks:
        colour, shape = COLOURS[one.state], SHAPES[panel.kind]
        if one.state == "undecided":
            shape = DIAMOND
        elif one.state == "outside":
            shape = UP if one.side == "lighter" else DOWN
        fill = colour if one.proven else "var(--sheet)"
        found.append({"x": one.x, "y": one.value, "shape": shape, "fill": fill, "stroke": colour, "url": one.url})
    return found


def rings(panel: Panel) -> list[dict]:
    """Each value at which something fired, and the rules' numbers; none where there are too many. What is closed has a
    thinner ring with a tick."""
    there: dict[tuple[int, float], list[str]] = {}
    for at, value, rule in () if panel.spots else panel.signals:
        there.setdefault((at, value), []).append(rule)
    looks = {False: {"shape": "circle", "width": 2}, True: {"shape": TICKED, "width": 1.25}}
    return [
        {"x": where[0], "y": where[1], "t": " ".join(fired), **looks[where in panel.closed]}
        for where, fired in there.items()
    ]


def spots(panel: Panel) -> list[dict]:
    """Where something fired, when that is too often for a ring each; empty where it is closed."""
    if not panel.spots:
        return []
    still = {at for at, value, _rule in panel.signals if (at, value) not in panel.closed}
    there = sorted({at for at, _value, _rule in panel.signals})
    return [{"x": at, "fill": "var(--ink)" if at in still else "var(--sheet)"} for at in there]


def moving(panel: Panel) -> list[dict]:
    """The moving ranges."""
    return [{"x": one.x, "y": one.moving} for one in panel.marks if one.moving is not None]


def most_moving(panel: Panel) -> float:
    """How far up the moving ranges go."""
    limit = panel.limits[3] if panel.limits else 0.0
    return max([limit, *(one["y"] for one in moving(panel))]) or panel.step


def steps(panel: Panel, last: float) -> list[dict]:
    """The limit of the moving ranges."""
    return [{"x": panel.judged, "x2": last, "y": panel.limits[3], **LIMIT}] if panel.limits else []


def numbers(low: float, high: float, most: int, decimal_mark: str) -> list[dict]:
    """Round numbers between two ends, at most so many or one more: steps of 1, 2 or 5 and their tens."""
    wide = (high - low) / most
    ten = 10.0 ** math.floor(math.log10(wide))
    step = next(ten * by for by in (1, 2, 5, 10) if ten * by >= wide * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [{"y": no * step, "t": show_value(no * step, step, decimal_mark)} for no in range(first, last + 1)]


def finished(svg: str, drawing: Drawing, title: str, text: str) -> str:
    """As it goes into a page: without a size of its own, named and told, with the links as they were meant."""
    root = ET.fromstring(svg)
    name = f"trend-{drawing.size}"
    for gone in ("width", "height", "style"):
        root.attrib.pop(gone, None)
    root.set("class", drawing.size)
    root.set("role", "group")
    root.set("aria-labelledby", f"{name}-title")
    root.set("aria-describedby", f"{name}-text")
    marks = iter(drawing.marks)
    for element in root.iter():
        for gone in ("role", "aria-roledescription", "aria-hidden", "style", "pointer-events"):
            if element is not root:
                element.attrib.pop(gone, None)
        if element.tag == f"{{{SVG}}}a":
            # The renderer puts its own address before ours. The marks come in our order.
            mark = next(marks)
            element.attrib.pop(f"{{{XLINK}}}href", None)
            element.set("href", mark.url)
            # The same links stand in the table: nobody has to pass a hundred of them with the keyboard.
            element.set("tabindex", "-1")
            element.set("aria-label", mark.label)
    for no, (tag, words) in enumerate((("title", title), ("desc", text))):
        told = ET.Element(f"{{{SVG}}}{tag}", {"id": f"{name}-{'title' if tag == 'title' else 'text'}"})
        told.text = words
        root.insert(no, told)
    return ET.tostring(root, encoding="unicode")
