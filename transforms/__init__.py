"""Pure functions from frame to frame: read, lay out, validate, de-identify, harmonise, pool."""
