"""What can be asked, in one table: the routes and their description in OpenAPI are both made of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlite_utils import Database

from webapp.api import asked
from webapp.api.asked import LIMIT, USUAL, Parameter
from webapp.store import api_gear, api_lists
from webapp.store.api_lists import Asked, Page, Place


@dataclass(frozen=True)
class Resource:
    """name: of the operation and the endpoint; path: below /api/v1; schema: of an item, in schemas.py.

    table: for a list, the table whose order it follows; read: (db, sent parameters, place, limit) -> Page. Without a
    table: one record; read: (db, its id) -> dict, and NotFound.
    """

    name: str
    path: str
    what: str
    schema: str
    read: Callable
    table: str = ""
    parameters: tuple[Parameter, ...] = ()

    @property
    def every_parameter(self) -> tuple[Parameter, ...]:
        """With those that each list has."""
        return (*self.parameters, LIMIT, asked.CURSOR) if self.table else ()

    @property
    def rule(self) -> str:
        """The path as the router wants it: what stands in braces is the id of a record."""
        return self.path.replace("{", "<uuid:").replace("}", ">")


def read_batches(db: Database, sent: dict, place: Place, limit: int) -> Page:
    """By product, days, and what has changed."""
    wanted = Asked(sent.get("product"), sent.get("since"), sent.get("until"), sent.get("changed_since"))
    return api_lists.list_batches(db, wanted, place, limit)


def plain(read: Callable[[Database, Place, int], Page]) -> Callable:
    """A list that nothing can be asked of but its length."""
    return lambda db, _sent, place, limit: read(db, place, limit)


RESOURCES: tuple[Resource, ...] = (
    Resource(
        "list_batches", "/batches", "Batches in the order of storing, each with its results.", "Batch", read_batches,
        "batch", (asked.PRODUCT, asked.SINCE, asked.UNTIL, asked.CHANGED),
    ),
    Resource(
        "get_batch", "/batches/{batch_id}", "One batch with its results, samples, readings, corrections and decisions.",
        "WholeBatch", api_lists.get_batch,
    ),
    Resource(
        "list_waiting", "/waiting", "The batches that wait for somebody, and why, in the order of storing.",
        "WaitingBatch", plain(api_lists.list_waiting), "batch",
    ),
    Resource(
        "list_products", "/products", "Products in the order of storing, each with the target in force.", "Product",
        plain(api_gear.list_products), "product",
    ),
    Resource(
        "get_product", "/products/{product_id}", "One product with every version of its target.", "WholeProduct",
        api_gear.get_product,
    ),
    Resource(
        "list_meters", "/meters", "Meters in the order of storing, each with its scale, plate and last check.", "Meter",
        plain(api_gear.list_meters), "meter",
    ),
    Resource("get_meter", "/meters/{meter_id}", "One meter.", "Meter", api_gear.get_meter),
)  # fmt: skip
ABOUT = ("about", "/about", "What answers here, how far its ledger goes, and what time it has: for a health check.")
DESCRIPTION = ("description", "/openapi.json", "This description.")


def read_list(resource: Resource, db: Database, sent: dict) -> tuple[Page, Place]:
    """A page, and the place that it began at."""
    place = sent.get("cursor") or api_lists.begin(db, resource.table)
    return resource.read(db, sent, place, sent.get("limit", USUAL)), place
