"""The circuit itself: SI floats in, SI floats out; standard library only; no input or output."""
