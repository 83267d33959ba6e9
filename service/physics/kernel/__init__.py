"""The hot loops over vectors of numbers, written once: they run as Python, and compiled where that was done.

The files beside this one import nothing but the standard library and one another. A `.pxd` beside a file
types it for the compiler. `deploy/compile.py` puts what it makes of them into the folder `compiled`, with a
stamp that says of what it was made and for which machine. Where the stamp fits they are taken from there, all
of them; what was edited since runs as Python until it is compiled again.
"""

from service.physics.kernel.stamp import COMPILED_FOLDER, fits

if fits():
    __path__.insert(0, str(COMPILED_FOLDER))
