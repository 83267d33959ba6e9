"""A job in SI units: laid out, fed, solved and read off; corners, envelope, windows, work."""
