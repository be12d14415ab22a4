"""The bench's gear and its methods."""

from webapp.gear import grinder_views, instruments, method_views, tools
from webapp.gear.blueprint import gear

__all__ = ["gear", "grinder_views", "instruments", "method_views", "tools"]
