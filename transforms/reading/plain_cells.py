"""Makes an .ods document short: cells that say nothing but their value are counted, not followed.

Nearly all cells are such, and a parser's events for each cost several times what calamine takes for
all values. What remains is read by a parser; whatever is written in another way than spreadsheet
programs write it remains too.
"""

from __future__ import annotations

import re

_CELL = b"<table:table-cell"
_STYLE = rb'(?:\stable:style-name="[^"<]*+")?+'
# No formula, no repeat, no span, no error, no per cent.
_PLAIN_TYPE = rb'\soffice:value-type="(?!percentage)[^"<]*+"'
_PLAIN_ATTRIBUTE = (
    rb'\s(?:office|table|calcext):(?!formula|number-|value-type="error)[a-z-]++="[^"<]*+"'
)
_FILLED = rb"%s%s%s(?:%s)*+>(?:<text:p>[^<]*+</text:p>)*+</table:table-cell>" % (
    _CELL,
    _STYLE,
    _PLAIN_TYPE,
    _PLAIN_ATTRIBUTE,
)
_EMPTY = rb"%s%s/>" % (_CELL, _STYLE)
_RUN = re.compile(rb"(?P<filled>(?:%s)++)|(?:%s){2,}+" % (_FILLED, _EMPTY))


def shortened(xml: bytes) -> bytes:
    """The document with each run of plain cells, filled or empty, as one repeated cell."""
    return _RUN.sub(_repeated, xml)


def _repeated(run: re.Match[bytes]) -> bytes:
    kind = b' office:value-type="string"' if run["filled"] else b""
    count = run[0].count(_CELL)
    return b'%s%s table:number-columns-repeated="%d"/>' % (_CELL, kind, count)
