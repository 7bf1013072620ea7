"""Visual acuity in every notation to logMAR."""
