"""Lets tests import the modules that they share."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import pytest
from merged_sample import MergedSample, merge_sample


@pytest.fixture(scope="session")
def merged(tmp_path_factory) -> MergedSample:
    """The sample study, merged twice."""
    return merge_sample(tmp_path_factory.mktemp("sample"))
