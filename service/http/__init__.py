"""The HTTP surface: routes, bodies, replies, and the handlers that turn errors into problems."""
