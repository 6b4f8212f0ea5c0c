"""Long recordings: splitting them and assigning their notes."""
