"""What an operation note tells of another time, a plan or a choice: nothing of it is coded.

"Planned", "failed", "previous", "abandoned" cast doubt on what they stand with; "converted to" and
"instead of" say which of two was not done. A word that says when is no doubt beside a removal or an
exchange: "oil removal planned at 3 months" is plain.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, field
from typing import Literal

from transforms.harmonise.notes.lexicon import EVENT, Kind
from transforms.harmonise.notes.phrases import DOUBTS, NAMED, Item, names_something, parted
from transforms.harmonise.notes.tokens import Break

Doubt = Literal["unsure", "replaced"]
_COMES_TO_NOTHING = frozenset({"plan", "undone", "not_done"})
_PLAIN = (*DOUBTS, "filler", "number", "unit", "and")
_ANSWERING = frozenset(":=(")  # "ART (not done)"
_OPENING = frozenset(":=(-")  # "planned: ART", "previous (ILM flap)"
_ADDING = frozenset("+&")  # "failed peel + ILM flap"


def doubts(items: Sequence[Item]) -> list[Doubt | None]:
    """What is doubtful or was replaced, by place. A word that casts a doubt is doubtful itself."""
    found: list[Doubt | None] = []
    for sentence in parted(items, range(len(items)), Break.SENTENCE):
        found += [None] * len(sentence)
        goes_on = False
        clauses = list(parted(items, sentence, Break.CLAUSE))
        for clause, following in zip(clauses, [*clauses[1:], range(0)], strict=True):
            is_new = any(items[at].kind == "now" for at in clause)
            if is_new or ")" in items[clause.start].mark:
                goes_on = False
            reader = _Clause(items, found, sentence.start, clause, following)
            if goes_on:
                reader.mark(clause)
            goes_on |= reader.read()
    return found


@dataclass
class _Clause:
    """A clause being read for doubts. `following` is the next clause of the sentence, or empty."""

    items: Sequence[Item]
    found: list[Doubt | None]
    sentence_start: int
    clause: range
    following: range
    named: list[int] = field(init=False)

    def __post_init__(self) -> None:
        self.named = [at for at in self.clause if self.items[at].kind in NAMED]

    def mark(self, places: Sequence[int], doubt: Doubt = "unsure") -> None:
        """Sets a doubt. What is unsure stays so."""
        for at in places:
            self.found[at] = self.found[at] or doubt

    def read(self) -> bool:
        """Marks what the words of the clause bear on; True where that is what follows it too."""
        words = [at for at in self.clause if self._casts_doubt(at)]
        if not words:
            return False
        first = words[0]
        behind = [at for at in self.named if at > first]
        kinds = {self.items[at].kind for at in words}
        if behind and len(words) == 1 and kinds <= {"becomes", "instead"}:
            self._replace(first, behind)
            return False
        if not self.named:
            self.mark(self.clause)
            return self._bare(kinds)
        self.mark(words)
        if self.items[first].kind == "after":  # "ART after failed flap": the flap alone
            self.mark([*behind, *(at for at in self.named if self.items[at].kind == "event")])
            begins = behind == self.named and not names_something(self.items, self.following)
            return "past" in kinds or begins
        self.mark(self.clause)
        return "past" in kinds or (first < self.named[0] and self._is_followed_by(_ADDING))

    def _casts_doubt(self, at: int) -> bool:
        """False for a word that says when, or that something is planned, beside a step of the
        plan; and for "not done" beside a phrase, which is a denial (see `standing`)."""
        kind = self.items[at].kind
        steps = [place for place in self.named if self.items[place].kind == "event"]
        if kind == "later":
            return not steps
        if kind == "plan":
            is_exchange = any(self.items[p].codes.get(EVENT) == "exchange" for p in steps)
            begins = bool(steps) and steps[0] == self.named[0] and is_exchange
            return not steps or not (steps == self.named or begins)
        if kind == "not_done":
            answers = set(self.items[self.clause.start].mark) & _ANSWERING
            return not self.named and not answers
        return kind in DOUBTS

    def _replace(self, at: int, behind: list[int]) -> None:
        """ "A converted to B", "B instead of A": A was not done, B was."""
        if self.items[at].kind == "instead":
            is_list = any(self.items[p].kind in ("and", "or") for p in self.clause if p > at)
            self.mark([at, *behind] if is_list else behind[:1], "unsure" if is_list else "replaced")
            return
        said = range(self.sentence_start, at)
        before = [place for place in said if self.items[place].kind in NAMED]
        concepts = self.items[behind[0]].codes.keys()
        if before and self.items[before[-1]].codes.keys() & concepts:
            self.mark(before[-1:], "replaced")
        elif self.named != behind:
            self.mark([at, *self.named])

    def _bare(self, kinds: Set[Kind]) -> bool:
        """A doubt with no phrase beside it: it may bear on what stands before, or on what
        follows."""
        said = [at for at in range(self.clause.start) if self.items[at].kind in NAMED]
        if kinds & _COMES_TO_NOTHING and said:
            self.mark(said)
            return False
        is_plain = all(self.items[at].kind in _PLAIN for at in self.clause)
        last = [at for at in said if at >= self.sentence_start][-1:]
        if is_plain and last and kinds != {"after"}:
            self.mark(last)
            return False
        if is_plain:
            self.mark(self.following)
        elif "after" in kinds and "past" not in kinds:
            return not names_something(self.items, self.following)
        return is_plain or "past" in kinds or self._is_followed_by(_OPENING | _ADDING)

    def _is_followed_by(self, marks: frozenset[str]) -> bool:
        return bool(self.following) and bool(set(self.items[self.following.start].mark) & marks)
