"""What is bought: from the lengths that a job needs to the spools that hold them, and what they cost."""
