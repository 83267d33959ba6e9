"""What is answered without a server: the same studies, the same refusals and the same bytes."""
