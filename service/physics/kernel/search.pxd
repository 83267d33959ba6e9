cimport cython
from libc cimport math

from service.physics.kernel.draws cimport Draws
from service.physics.kernel.factor cimport Factor
from service.physics.kernel.plan cimport Plan


cdef double STEP_LIMIT, RESIDUAL_LIMIT_A, ROUNDING, NOT_WITHIN
cdef int MAXIMUM_ITERATIONS


cdef class Search:
    cdef readonly int iterations, checks
    cdef readonly double residual_a
    cdef Plan _plan
    cdef Draws _draws
    cdef Factor _factor
    cdef double _feeds
    cdef bint _held
    cdef int _last
    cdef double[::1] _volts, _drop, _quadrature, _shunt, _next, _zero

    @cython.locals(turned=bint, step=double)
    cpdef int run(self) except -1

    cpdef list drop(self)

    cpdef list quadrature(self)

    @cython.locals(shunt="double[::1]", constant="double[::1]", largest=double, place=int)
    cdef double _step_down(self, bint turned) except -2.0

    @cython.locals(shunt="double[::1]", constant="double[::1]")
    cdef double _step_across(self) except -2.0

    @cython.locals(longest=double, moved=double, place=int)
    cdef double _length(self, double[::1] new, double[::1] old) except -2.0

    @cython.locals(in_phase="double[::1]", across="double[::1]", worst=double, other=double)
    cdef double _residual_a(self, bint turned) except -2.0

    @cython.locals(
        lower="int[::1]", upper="int[::1]", slot="int[::1]", link="double[::1]", last=int, volts="double[::1]",
        missing="double[::1]", index=int, a=int, b=int, flow=double, worst=double, within=bint, place=int, left=double,
    )
    cdef double _left_over(self, double[::1] values, double[::1] drawn) except -2.0

    @cython.locals(
        lower="int[::1]", upper="int[::1]", slot="int[::1]", link="double[::1]", last=int, gross="double[::1]",
        index=int, a=int, b=int, flow=double, place=int, volts=double,
    )
    cdef bint _within_rounding(self, double[::1] values, double[::1] drawn, double[::1] missing) except -1
