"""What an installer or an inspector would say about a job, one file per part of it."""
