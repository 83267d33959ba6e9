"""Compiles `service/physics/kernel`: one extension a file, good for every Python of 3.11 or newer.

Started by `deploy/compile.py` in a folder with the files, with Cython on the path. A file that cannot be
compiled is left out without a failure; who asked sees that it is missing.
"""

from pathlib import Path

from Cython.Build import cythonize
from setuptools import Extension, setup

KERNEL = Path("service/physics/kernel")

NOT_COMPILED = {"__init__", "stamp"}

EXTENSIONS = [
    Extension(
        f"service.physics.kernel.{path.stem}",
        [f"{KERNEL}/{path.stem}.py"],
        define_macros=[("Py_LIMITED_API", "0x030B0000"), ("CYTHON_LIMITED_API", "1")],
        # Contraction would round otherwise than Python does.
        extra_compile_args=["-O2", "-ffp-contract=off", "-g0"],
        py_limited_api=True,
    )
    for path in sorted(KERNEL.glob("*.py"))
    if path.stem not in NOT_COMPILED
]

DIRECTIVES = {
    "language_level": 3,
    "annotation_typing": False,  # the types stand in the .pxd
    "boundscheck": False,
    "wraparound": False,
    "initializedcheck": False,
    "cdivision": True,
    "cpow": True,
}

MADE = cythonize(EXTENSIONS, build_dir="build/cython", compiler_directives=DIRECTIVES)
for made in MADE:
    # Set here because cythonize drops it.
    made.optional = True

setup(name="kernel", packages=[], ext_modules=MADE, script_args=["build_ext", "--build-lib", "build/lib"])
