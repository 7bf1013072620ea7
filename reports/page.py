"""HTML pages from jinja2 templates: self-contained files that open from disk with no script."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from reports import numerals
from reports.caution import CAUTION, CAUTION_SHORT


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("reports", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.globals.update(caution=CAUTION, caution_short=CAUTION_SHORT)
    for filter_ in (
        numerals.count,
        numerals.decimal,
        numerals.plain,
        numerals.signed,
        numerals.percent,
        numerals.plural,
    ):
        # `count` is jinja's own name for the length of a list.
        name = "whole" if filter_ is numerals.count else filter_.__name__
        environment.filters[name] = filter_
    environment.globals["percent_interval"] = numerals.percent_interval
    return environment


@cache
def _stylesheet() -> Markup:
    source = files("reports").joinpath("templates", "style.css")
    return Markup(source.read_text(encoding="utf-8"))


def render(template: str, **context: object) -> str:
    """The page of a template in `reports/templates`, with the style sheet inlined.

    Every value is escaped; figures come in as `Markup`. Templates that extend `layout.html` need
    `title`, `study_name`, `week`, `code_version` and `here` (the page's file name, or None for a
    page that travels alone and has no links to the others).
    Raises jinja2.UndefinedError where the template asks for what is not given.
    """
    return _environment().get_template(template).render(stylesheet=_stylesheet(), **context)
