"""The HTTP surface: handlers of three lines each, and the handlers that turn errors into problems."""
