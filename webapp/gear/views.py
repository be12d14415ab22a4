"""The bench's gear and its methods."""

from webapp.gear import drift_views, instruments, look_back_views, method_views, tools
from webapp.gear.blueprint import gear

__all__ = ["drift_views", "gear", "instruments", "look_back_views", "method_views", "tools"]
