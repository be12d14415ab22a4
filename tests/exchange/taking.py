"""A file, and the way through all the steps with it."""

from __future__ import annotations

import io

from tests.support.pages import CheckingClient, Page, parsed
from tests.support.roastery import Roastery

GOOD = (
    "Batch code;Product;Date;Time;Green mass (kg);Roasted mass (kg);Drop temperature (C);Total time;Whole 1;Whole 2;"
    "Whole 3;Ground average;Lot;Note\r\n"
    "0301-01;Lantern House;1.3.2026;06:58;12,350;10,400;204,5;11:30;56,2;56,4;56,1;61,2333;Lot 7;\r\n"
    "0301-02;lantern  house;01.03.2026;07:20;12,350;10,380;;11:10;55,8;55,9;;60,85;Lot 7;\"Grüße; zwei\nZeilen\"\r\n"
    "0313-01;LH;13.03.2026;06:40;;;;;;;;;;=1+1\r\n"
).encode()


def send(client: CheckingClient, content: bytes, name: str = "history.csv"):
    """The answer to an uploaded file."""
    data = {"file": (io.BytesIO(content), name)}
    return client.post("/import", data=data, content_type="multipart/form-data")


def begun(client: CheckingClient, content: bytes, name: str = "history.csv") -> str:
    """The address of the draft that a good file becomes."""
    answer = send(client, content, name)
    assert answer.status_code == 303, said(answer)
    return answer.headers["Location"].removesuffix("/columns")


def said(answer) -> list[str]:
    """The messages of a page."""
    page = parsed(answer.get_data(as_text=True))
    return [" ".join(e.text.split()) for e in page.find("p", class_="error")]


def refusal(client: CheckingClient, content: bytes, name: str = "history.csv") -> str:
    """What is said to a file that is not taken, after which nothing is kept."""
    answer = send(client, content, name)
    assert answer.status_code == 400
    assert not page_of(answer).find("h2", id="begun")
    (message,) = said(answer)
    return message


def page_of(answer) -> Page:
    """A page from an answer."""
    return parsed(answer.get_data(as_text=True))


def filled(page: Page) -> dict[str, str]:
    """What the last form of a page sends as it stands."""
    found, select = {}, None
    for e in page.elements:
        if e.tag == "select":
            select = e.attrs["name"]
            found[select] = ""
        elif e.tag == "option" and "selected" in e.attrs:
            found[select] = e.attrs["value"]
        elif e.tag == "input" and e.attrs.get("type") == "radio":
            if "checked" in e.attrs:
                found[e.attrs["name"]] = e.attrs["value"]
        elif e.tag == "input" and e.attrs.get("type") in ("text", "time", "hidden"):
            found[e.attrs["name"]] = e.attrs.get("value", "")
    return {name: value for name, value in found.items() if name not in ("read", "csrf_token")}


def read_by(bench: Roastery) -> dict[str, str]:
    """The meter and the methods that the numbers were read by, and a machine and a time."""
    versions = bench.versions
    return {
        "meter-whole": bench.meter, "meter-ground": bench.meter, "method-whole": versions["whole"].id,
        "method-ground": versions["ground"].id, "average-ground": "average", "machine": bench.machine,
    }  # fmt: skip


def chosen(client: CheckingClient, bench: Roastery, there: str, columns: dict | None = None, **more: str):
    """The answer to the second page, after both pages were filled in as proposed but for what is given."""
    matched = filled(client.page(f"{there}/columns")) | (columns or {})
    answer = client.post(f"{there}/columns", data=matched)
    assert answer.status_code == 303, said(answer)
    given = filled(client.page(f"{there}/numbers")) | read_by(bench)
    return client.post(f"{there}/numbers", data=given | {k.replace("_", "-", 1): v for k, v in more.items()})


def looked(client: CheckingClient, bench: Roastery, content: bytes, name: str = "history.csv", **more) -> tuple:
    """(address of the draft, the page with the numbers of its rows)."""
    there = begun(client, content, name)
    answer = chosen(client, bench, there, **more)
    assert answer.status_code == 303, said(answer)
    return there, client.page(f"{there}/preview")


def counts(page: Page) -> tuple[int, ...]:
    """(new, known, refused) of a preview."""
    return tuple(int(e.text) for e in page.find("dd", class_="figure-small"))


def problems(page: Page) -> list[tuple[str, ...]]:
    """(row, column, cell, words) of each problem on a preview."""
    body = page.find("section", id="problems")
    if not body:
        return []
    start = page.elements.index(body[0])
    cells = [" ".join(e.text.split()) for e in page.elements[start:] if e.tag == "td"]
    return [tuple(cells[no : no + 4]) for no in range(0, len(cells), 4)]


def take(client: CheckingClient, there: str, page: Page):
    """The answer to taking a file in."""
    names = ("taken", "known", "refused")
    data = {e.attrs["name"]: e.attrs["value"] for e in page.find("input") if e.attrs.get("name") in names}
    return client.post(f"{there}/take", data=data)


def taken_in(client: CheckingClient, bench: Roastery, content: bytes, name: str = "history.csv", **more) -> str:
    """The address of a file that was taken in with all of its rows."""
    there, page = looked(client, bench, content, name, **more)
    assert counts(page)[2] == 0, problems(page)
    answer = take(client, there, page)
    assert answer.status_code == 303
    return there
