"""Operation notes in free text to coded fields."""
