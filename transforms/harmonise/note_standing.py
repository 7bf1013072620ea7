"""What an operation note says of its phrases: stated, denied, or not to be told.

"No A or B" denies both, "no A and B" may deny one or both, "A: no" denies what stands before it.
Whatever is not plain is unsure, and nothing unsure is ever coded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from transforms.harmonise.note_phrases import Item
from transforms.harmonise.note_tokens import Break

Standing = Literal["stated", "denied", "unsure"]
# Within a clause a negation is `open` until it has met a phrase; `met` until a word parts them.
_Scope = Literal["none", "open", "met", "unsure"]

_NAMED = ("phrase", "subject")
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
    clauses = list(_split(sentence, Break.CLAUSE))
    for number, clause in enumerate(clauses):
        if _is_answer(clause) and any(item.kind in _NAMED for item in sentence[: len(found)]):
            _answer(found, sentence, clause[0].mark)
            found += ["stated"] * len(clause)
            scope = "none"
            continue
        rest = [item for later in clauses[number:] for item in later]
        scope = _across(scope, clause[0].mark, rest)
        standing, scope = _of_clause(clause, scope)
        found += standing
    return found


def _is_answer(clause: Sequence[Item]) -> bool:
    """A clause that is nothing but a negation."""
    kinds = {item.kind for item in clause}
    return "negation" in kinds and kinds <= {"negation", "filler"}


def _answer(found: list[Standing], sentence: Sequence[Item], mark: str) -> None:
    """Lets a negation by itself bear on the phrase before it: plainly behind a colon or bracket."""
    named = [at for at in range(len(found)) if sentence[at].kind in _NAMED]
    found[named[-1]] = "denied" if set(mark) & _ANSWERING else "unsure"


def _across(scope: _Scope, mark: str, rest: Sequence[Item]) -> _Scope:
    """The scope in which a clause begins, from that at the end of the clause before it."""
    if scope == "none":
        return "none"
    if scope == "open":
        return "unsure"  # "no (A": the negation has met nothing yet
    kinds = {item.kind for item in rest}
    if "," not in mark:
        return "none"
    if "or" in kinds:
        return "open" if scope == "met" else "unsure"  # "no A, B or C" denies all three
    return "unsure" if "and" in kinds else "none"


def _of_clause(clause: Sequence[Item], scope: _Scope) -> tuple[list[Standing], _Scope]:
    kinds = [item.kind for item in clause]
    is_choice = "or" in kinds and scope == "none" and "negation" not in kinds
    if "doubt" in kinds or is_choice:
        return ["unsure"] * len(clause), "none"
    if "negation" in kinds and set(clause[0].mark) & set(":=") and kinds[0] == "negation":
        return ["unsure"] * len(clause), "none"  # "A: no B: yes" has lost its commas
    found: list[Standing] = []
    for item in clause:
        scope = _before(item, scope)
        found.append(_STANDING[scope] if item.kind in _NAMED else "stated")
        if item.kind in _NAMED and scope == "open":
            scope = "met"
    if scope == "open":
        return _trailing(kinds, found), "none"
    return found, scope


def _before(item: Item, scope: _Scope) -> _Scope:
    """How an item changes the scope that it stands in."""
    if item.kind == "negation":
        return "open"
    if item.kind in ("unknown", "number", "unit") and scope == "open":
        return "unsure"
    if scope != "met":
        return scope
    return {"or": "open", "and": "unsure", "filler": "none", "unknown": "none"}.get(
        item.kind, scope
    )  # type: ignore[return-value]


def _trailing(kinds: Sequence[str], found: list[Standing]) -> list[Standing]:
    """A negation with nothing behind it denies the phrase before it: "PFCL not used"."""
    last = len(kinds) - 1 - list(reversed(kinds)).index("negation")
    named = [at for at in range(last) if kinds[at] in _NAMED]
    if not named:
        return found
    if "and" in kinds or "or" in kinds:
        return ["unsure"] * len(found)
    found[named[-1]] = "denied"
    return found
