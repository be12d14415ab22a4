"""The bench's gear and its methods."""

from webapp.gear import compare_views, instruments, method_views, tools
from webapp.gear.blueprint import gear

__all__ = ["compare_views", "gear", "instruments", "method_views", "tools"]
