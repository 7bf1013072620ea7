"""What an operation note says of its phrases: stated, denied, replaced, or not to be told.

"No A or B" denies both, "no A and B" may deny one or both, "A: no" denies what stands before it.
"A converted to B" replaces A. Whatever is not plain is unsure, and nothing unsure is ever coded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from transforms.harmonise.notes.doubts import doubts
from transforms.harmonise.notes.lexicon import FORWARD, Kind
from transforms.harmonise.notes.phrases import NAMED, TRANSPARENT, Item, parted
from transforms.harmonise.notes.tokens import Break

Standing = Literal["stated", "denied", "unsure", "replaced"]
# Within a clause a negation is `open` until it has met a phrase; `met` until a word parts them.
_Scope = Literal["none", "open", "met", "unsure"]

_WEIGHTLESS = ("negation", "filler", "heading", "affirmation", "plan", "later")
_PARTING = ("filler", "context", "unknown", "qualifier")
# "No dye under PFCL": a negation that has met something else.
_OTHER_THINGS = ("context", "unknown", "qualifier", "number", "unit", "duration")
_ANSWERING = frozenset(":=(")  # "PFCL: no", "PFCL (no)"
_STANDING: dict[_Scope, Standing] = {
    "none": "stated", "open": "denied", "met": "unsure", "unsure": "unsure"
}  # fmt: skip


def standings(items: Sequence[Item]) -> list[Standing]:
    """The standing of every item, in order. Of words that are no phrase it means that they cast a
    doubt, or lie within one."""
    doubted = doubts(items)
    plain = [
        replace(item, kind="negation") if item.kind == "not_done" and doubt is None else item
        for item, doubt in zip(items, doubted, strict=True)
    ]
    found: list[Standing] = []
    for sentence in parted(plain, range(len(plain)), Break.SENTENCE):
        found += _of_sentence(plain[sentence.start : sentence.stop])
    return [doubt or standing for doubt, standing in zip(doubted, found, strict=True)]


def _of_sentence(sentence: Sequence[Item]) -> list[Standing]:
    found: list[Standing] = []
    scope: _Scope = "none"
    for places in parted(sentence, range(len(sentence)), Break.CLAUSE):
        clause = sentence[places.start : places.stop]
        named = [at for at in range(len(found)) if sentence[at].kind in NAMED]
        if named and (answer := _answer(clause)) is not None:
            found[named[-1]] = answer
            found += ["unsure" if item.kind in NAMED else "stated" for item in clause]
            # "A, no (B)": the negation may go forward as well.
            may_go_on = answer == "unsure" and clause[-1].kind == "negation"
            scope = "open" if may_go_on else "none"
            continue
        scope = _across(scope, clause[0].mark, sentence[len(found) :])
        standing, scope = _of_clause(clause, scope)
        found += standing
    return found


def _answer(clause: Sequence[Item]) -> Standing | None:
    """What a clause that begins with a negation says of the phrase before the clause, if it does.

    "A: no" denies A. "A, no", "A: no more" and "A: no B: yes" leave it open.
    """
    kinds = {item.kind for item in clause}
    mark = set(clause[0].mark)
    if clause[0].kind != "negation" or (clause[0].codes == FORWARD and clause[1:] and "," in mark):
        return None
    if kinds & set(NAMED):
        return "unsure" if mark & set(":=") else None
    return "denied" if kinds <= set(_WEIGHTLESS) and mark & _ANSWERING else "unsure"


def _across(scope: _Scope, mark: str, rest: Sequence[Item]) -> _Scope:
    """The scope in which a clause begins, from that at the end of the clause before it."""
    if scope == "none":
        return "none"
    if scope == "open":
        return "unsure"  # "no (A": the negation has met nothing yet
    if "," not in mark:
        return "none"
    kinds = {item.kind for item in rest}
    if "or" in kinds:
        return "open" if scope == "met" else "unsure"  # "no A, B or C" denies all three
    return "unsure" if "and" in kinds else "none"


def _of_clause(clause: Sequence[Item], scope: _Scope) -> tuple[list[Standing], _Scope]:
    kinds = [item.kind for item in clause]
    if "or" in kinds and scope == "none" and "negation" not in kinds:
        return ["unsure"] * len(clause), "none"
    found: list[Standing] = []
    for kind in kinds:
        scope = _before(kind, scope)
        found.append(_STANDING[scope] if kind in NAMED else "stated")
        if kind in NAMED and scope == "open":
            scope = "met"
    if "negation" not in kinds:
        return found, scope
    first = kinds.index("negation")
    for at in range(first, len(kinds)):
        is_joined = "or" in kinds[first:] or "and" in kinds[first:at]
        if is_joined and kinds[at] in NAMED and found[at] == "stated":
            found[at] = "unsure"
    return _look_back(clause, found, scope)


def _before(kind: Kind, scope: _Scope) -> _Scope:
    """How an item changes the scope that it stands in."""
    if kind == "negation":
        return "open"
    if kind in _OTHER_THINGS and scope == "open":
        return "unsure"
    if scope != "met":
        return scope
    after: dict[Kind, _Scope] = {"or": "open", "and": "unsure"}
    return after.get(kind, "none" if kind in _PARTING else scope)


def _look_back(
    clause: Sequence[Item], found: list[Standing], scope: _Scope
) -> tuple[list[Standing], _Scope]:
    """A negation with no phrase behind it bears on the one before it: "PFCL not used"."""
    kinds = [item.kind for item in clause]
    last = len(kinds) - 1 - list(reversed(kinds)).index("negation")
    named = [at for at in range(last) if kinds[at] in NAMED]
    if not named or any(kind in NAMED for kind in kinds[last:]):
        return found, scope
    if clause[last].codes == FORWARD and last + 1 < len(clause):
        return found, scope
    if "and" in kinds or "or" in kinds:
        return ["unsure"] * len(found), "none"
    is_next = set(kinds[named[-1] + 1 : last]) <= set(TRANSPARENT)
    is_plain = is_next and set(kinds[last:]) <= set(_WEIGHTLESS)
    found[named[-1]] = "denied" if is_plain else "unsure"
    return found, "none"
