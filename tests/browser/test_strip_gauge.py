"""The live gauge: the script puts the mark where the server would have drawn it."""

from __future__ import annotations

import pytest

from webapp.ui.filters import shade
from webapp.ui.gauge import make_gauge

BAND = {"whole": (54.5, 56.0, 57.5), "difference": (-6.5, -5.0, -3.5)}

MOVE = """async ([source, kind, gauge, value, give, verdict]) => {
  const { moveGauge } = await import(source);
  const box = document.createElement("div");
  box.dataset.kind = kind;
  box.dataset.scaleLower = "0";
  box.dataset.scaleUpper = "150";
  const name = "http://www.w3.org/2000/svg";
  const add = (parent, tag, classes) => {
    const made = document.createElementNS(name, tag);
    made.setAttribute("class", classes);
    return parent.appendChild(made);
  };
  const svg = add(box, "svg", "wide");
  for (const [key, number] of Object.entries(gauge)) svg.dataset[key] = number;
  add(svg, "path", "whisker");
  add(add(svg, "g", "spot away"), "ellipse", "mark plain");
  add(svg, "path", "beyond left away");
  add(svg, "path", "beyond right away");
  moveGauge(box, { value, give, verdict });
  return {
    at: svg.querySelector(".spot").getAttribute("transform"),
    away: svg.querySelector(".spot").classList.contains("away"),
    whisker: svg.querySelector(".whisker").getAttribute("d"),
    arrows: [...svg.querySelectorAll(".beyond:not(.away)")].map((e) => e.getAttribute("class").split(" ")[1]),
    mark: svg.querySelector(".mark").getAttribute("class"),
    fill: svg.querySelector(".mark").getAttribute("fill"),
  };
}"""


@pytest.mark.parametrize("lighter", [1, -1])
@pytest.mark.parametrize("value", [56.2, 54.4, 99.0, 1.0, None])
def test_it_moves_the_mark_to_where_the_server_draws_it(app, address, tablet, value, lighter):
    page = tablet("roaster")
    page.goto(address + "/batches/new")
    source = page.evaluate("document.querySelector('script[type=module]').src").replace("app.mjs", "ui/gauge.mjs")
    give = None if value is None else 0.5
    resting = make_gauge("whole", None, None, *BAND["whole"], step=0.1, lighter=lighter)
    view = resting.wide
    data = {"low": resting.low, "high": resting.high, "lighter": lighter, "left": view.left, "width": view.width}
    found = page.evaluate(MOVE, [source, "whole", data, value, give, "inside"])
    assert found["away"] is (value is None)
    if value is None:
        return
    # The server stretches the axis to a value that is near: the comparison holds where both have the same axis.
    drawn = make_gauge("whole", value, give, *BAND["whole"], step=0.1, lighter=lighter)
    assert (drawn.low, drawn.high) == (resting.low, resting.high)
    assert float(found["at"].split("(")[1].split(" ")[0]) == pytest.approx(drawn.wide.mark, abs=0.06)
    assert found["arrows"] == ([drawn.wide.arrow] if drawn.wide.arrow else [])
    assert found["mark"] == "mark inside"
    assert found["fill"] == shade(value, 0, 150, lighter)
    left, right = (float(n) for n in found["whisker"].removeprefix("M").split(" 50H"))
    assert (left, right) == pytest.approx(drawn.wide.whisker, abs=0.06)
