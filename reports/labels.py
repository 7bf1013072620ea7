"""Titles in words for the codes that pages show: centres, levels of a grouping, fields."""

from __future__ import annotations

from functools import cache

from reports.estimates import Subject
from reports.run_view import RunView
from schemas import codes
from schemas.codebook import RECORD_KINDS, TABLES, table_fields, upload_fields
from schemas.study import Study
from transforms.pooling.closure_table import LAST_VISIT


def site_title(view: RunView, site: str) -> str:
    """The centre's title, or its code where none is given."""
    return view.site_titles.get(site, site)


def level_titles(view: RunView, group: str) -> dict[str, str]:
    """Code to title of the levels of a grouping (site, technique, size_class), in page order."""
    if group == "site":
        return {site: site_title(view, site) for site in view.study.sites}
    if group == "technique":
        return dict(codes.GRAFT_MATERIAL)
    if group == "size_class":
        return dict(table_fields("operations")[view.study.size_column].codes or {})
    raise ValueError(f"'{group}' is no grouping of the pooled tables")


def closure_subjects(study: Study) -> dict[Subject, str]:
    """The four closure outcomes over all eyes, the leading one first, with their titles."""
    primary = study.closure.primary
    return {
        Subject("primary_closure_strict", primary): "Primary, strict",
        Subject("primary_closure_broad", primary): "Primary, broad",
        Subject("final_closure_strict", LAST_VISIT): "Final, strict",
        Subject("final_closure_broad", LAST_VISIT): "Final, broad",
    }


@cache
def _field_titles() -> dict[str, str]:
    from_uploads = {
        name: upload.spec.title
        for kind in RECORD_KINDS
        for name, upload in upload_fields(kind).items()
    }
    from_tables = {
        name: spec.title for table in TABLES for name, spec in table_fields(table).items()
    }
    return {**from_tables, **from_uploads}


def field_title(name: object) -> str:
    """Title of a field by its upload name or its column; empty for what is no field."""
    return _field_titles().get(str(name), "")
