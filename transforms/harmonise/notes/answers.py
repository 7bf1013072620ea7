"""What is written behind a phrase of an operation note in place of yes: "blood N", "PFCL 0"."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from schemas.vocabulary import vocabulary
from transforms.harmonise.notes.lexicon import NO_CODES, Meaning
from transforms.harmonise.notes.tokens import Break, Token, longest_phrase


def answer_at(
    tokens: Sequence[Token], at: int, found: tuple[int, Meaning] | None, language: str
) -> tuple[int, Meaning] | None:
    """The answer that begins at a token behind a phrase, and its length, if one does.

    `found` is what the words mean elsewhere, which counts if it says as much. An answer that ends
    its clause denies; what goes on may be read in two ways ("blood N SF6"), so it is a doubt.
    """
    answer = (1, "no") if tokens[at].number == 0 else longest_phrase(tokens, at, _answers(language))
    if answer is None:
        return None
    length, said = answer
    goes_on = at + length < len(tokens) and tokens[at + length].before is Break.JOINED
    if found is not None and found[0] >= length and (goes_on or found[1][0] != "filler"):
        return None
    return length, ("doubt" if goes_on or said != "no" else "negation", NO_CODES)


@cache
def _answers(language: str) -> dict[str, str]:
    return {
        word: code
        for name in ("missing", "note_answer")
        for word in vocabulary(name).words
        if (code := vocabulary(name).code_of(word, language))
    }
