"""The bench's gear and its methods."""

from webapp.gear import instruments, method_views, tools
from webapp.gear.blueprint import gear

__all__ = ["gear", "instruments", "method_views", "tools"]
