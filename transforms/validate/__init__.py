"""Identity and order of events: who, which eye, when, and whether a row can be a record at all."""
