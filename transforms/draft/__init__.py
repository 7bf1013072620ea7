"""Proposes a crosswalk for a new centre: workbooks in, a proposal with its reasons out."""

from transforms.draft.drafting import USUAL_WINDOWS, draft
from transforms.draft.proposal import CONFIDENCE_LIMIT, Proposal
from transforms.draft.wording import toml_of

__all__ = ["CONFIDENCE_LIMIT", "USUAL_WINDOWS", "Proposal", "draft", "toml_of"]
