"""What people ask for: read the log, decide, append one entry."""
