"""What a job is, what can happen to it and what may happen next. Pure."""
