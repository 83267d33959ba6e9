"""One function per task: physics and tables in, findings out; knows no HTTP, no units and no wire format."""
