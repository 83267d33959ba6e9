"""What an installer or an inspector would say about a job, one file a part; and the limits of all studies."""
