"""What an operator sees: a log line for every request, an id on every reply, and readiness to trust."""
