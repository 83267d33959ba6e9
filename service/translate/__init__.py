"""What studies share between messages and jobs: units in, units out, names, rounding."""
