"""The online pages without the frame around them, so that the shell is made of the same templates as they are."""

from __future__ import annotations

from flask import current_app
from jinja2 import BaseLoader, Environment
from markupsafe import Markup

FRAME, BARE = "base.html", "sync/bare.html"


class WithoutFrame(BaseLoader):
    """The app's templates, with the frame replaced by one that prints a page's parts one after the other."""

    def __init__(self, loader: BaseLoader) -> None:
        self.loader = loader

    def get_source(self, environment: Environment, template: str):
        """As the app's own loader, for all but the frame."""
        return self.loader.get_source(environment, BARE if template == FRAME else template)


def bare(template: str, **values: object) -> Markup:
    """A page's title, place and main part, as sync/bare.html puts them."""
    app = current_app
    environment = app.jinja_env.overlay(loader=WithoutFrame(app.jinja_env.loader))
    app.update_template_context(values)
    return Markup(environment.get_template(template).render(values))
