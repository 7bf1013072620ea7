"""One pandera model per table: what an upload may hold, and what the warehouse holds."""
