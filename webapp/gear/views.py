"""The bench's gear and its methods."""

from webapp.gear import (
    check_views,
    compare_views,
    drift_views,
    grinder_views,
    instruments,
    look_back_views,
    method_views,
    tools,
)
from webapp.gear.blueprint import gear

__all__ = [
    "check_views", "compare_views", "drift_views", "gear", "grinder_views", "instruments", "look_back_views",
    "method_views", "tools",
]  # fmt: skip
