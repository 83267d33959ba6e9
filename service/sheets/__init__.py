"""What every sheet to print is made of, and a renderer for each form."""
