"""Pooled tables: long frames, one row an estimate."""

from transforms.pooling.tables import pooled_tables

__all__ = ["pooled_tables"]
