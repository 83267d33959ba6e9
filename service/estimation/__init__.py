"""Readings of a meter beside the solved circuit: measurements, their predictions, Jacobian and covariance."""
