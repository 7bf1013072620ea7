"""What an operation note says of its phrases: stated, denied, or not to be told.

"No A or B" denies both, "no A and B" may deny one or both, "A: no" denies what stands before it.
Whatever is not plain is unsure, and nothing unsure is ever coded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from transforms.harmonise.note_phrases import Item, Kind
from transforms.harmonise.note_tokens import Break

Standing = Literal["stated", "denied", "unsure"]
# Within a clause a negation is `open` until it has met a phrase; `met` until a word parts them.
_Scope = Literal["none", "open", "met", "unsure"]

_NAMED = ("phrase", "subject")
_WEIGHTLESS = ("negation", "filler", "heading")
_ANSWERING = frozenset(":=(")  # "PFCL: no", "PFCL (no)"
_STANDING: dict[_Scope, Standing] = {
    "none": "stated", "open": "denied", "met": "unsure", "unsure": "unsure"
}  # fmt: skip


def standings(items: Sequence[Item]) -> list[Standing]:
    """The standing of every item, in order; it means something for phrases and subjects alone."""
    found: list[Standing] = []
    for sentence in _split(items, Break.SENTENCE):
        found += _of_sentence(sentence)
    return found


def _split(items: Sequence[Item], at: Break) -> Iterator[list[Item]]:
    part: list[Item] = []
    for item in items:
        if part and item.before >= at:
            yield part
            part = []
        part.append(item)
    if part:
        yield part


def _of_sentence(sentence: list[Item]) -> list[Standing]:
    found: list[Standing] = []
    scope: _Scope = "none"
    for clause in _split(sentence, Break.CLAUSE):
        named = [at for at in range(len(found)) if sentence[at].kind in _NAMED]
        if named and (answer := _answer(clause)) is not None:
            found[named[-1]] = answer
            found += ["unsure"] * len(clause)
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
    if clause[0].kind != "negation":
        return None
    if kinds & set(_NAMED):
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
    is_choice = "or" in kinds and scope == "none" and "negation" not in kinds
    if "doubt" in kinds or is_choice:
        return ["unsure"] * len(clause), "none"
    found: list[Standing] = []
    for kind in kinds:
        scope = _before(kind, scope)
        found.append(_STANDING[scope] if kind in _NAMED else "stated")
        if kind in _NAMED and scope == "open":
            scope = "met"
    if "negation" not in kinds:
        return found, scope
    first = kinds.index("negation")
    for at in range(first, len(kinds)):
        if found[at] == "stated" and ("or" in kinds[first:] or "and" in kinds[first:at]):
            found[at] = "unsure"
    return _look_back(kinds, found, scope)


def _before(kind: Kind, scope: _Scope) -> _Scope:
    """How an item changes the scope that it stands in."""
    if kind == "negation":
        return "open"
    if kind in ("unknown", "number", "unit") and scope == "open":
        return "unsure"
    if scope != "met":
        return scope
    after: dict[Kind, _Scope] = {"or": "open", "and": "unsure", "filler": "none", "unknown": "none"}
    return after.get(kind, scope)


def _look_back(
    kinds: Sequence[Kind], found: list[Standing], scope: _Scope
) -> tuple[list[Standing], _Scope]:
    """A negation with no phrase behind it bears on the one before it: "PFCL not used"."""
    last = len(kinds) - 1 - list(reversed(kinds)).index("negation")
    named = [at for at in range(last) if kinds[at] in _NAMED]
    if not named or any(kind in _NAMED for kind in kinds[last:]):
        return found, scope
    if "and" in kinds or "or" in kinds:
        return ["unsure"] * len(found), "none"
    is_next = set(kinds[named[-1] + 1 : last]) <= {"filler"}
    is_plain = is_next and set(kinds[last:]) <= set(_WEIGHTLESS)
    found[named[-1]] = "denied" if is_plain else "unsure"
    return found, "none"
