"""The two examples on the page of the keys: programs, the same in every language. A test runs the second one."""

from __future__ import annotations

CURL = """curl --header "Authorization: Bearer $(cat drumside.key)" "{address}?limit=20"
"""
PYTHON = '''import json, pathlib, urllib.request
from urllib.parse import urljoin

key = pathlib.Path("drumside.key").read_text().strip()
address = "{address}"
while address:
    request = urllib.request.Request(address)
    request.add_header("Authorization", "Bearer " + key)
    with urllib.request.urlopen(request, timeout=30) as answer:
        page = json.load(answer)
    for batch in page["items"]:
        values = {{r["kind"]: r["value"] for r in batch["results"]}}
        print(batch["code"], batch["product"], batch["verdict"], values)
    address = page["next"] and urljoin(address, page["next"])
'''


def curl(address: str) -> str:
    """One request on a command line."""
    return CURL.format(address=address)


def python(address: str) -> str:
    """Every page of the batches, with Python's standard library."""
    return PYTHON.format(address=address)
