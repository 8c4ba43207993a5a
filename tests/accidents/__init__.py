"""What may happen to a command while it writes."""
