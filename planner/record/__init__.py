"""What the bench found: the record file, what a raw log says, limits of error."""
