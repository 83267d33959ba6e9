cimport cython
from libc cimport math

from service.physics.kernel.plan cimport Plan


cdef int PARTS


cdef class Draws:
    cdef readonly Plan plan
    cdef readonly double exponent
    cdef readonly int count
    cdef readonly bint turned
    cdef int[::1] at, _point
    cdef double[::1] part

    @cython.locals(
        places="int[::1]", part="double[::1]", own=double, draw_at="int[::1]", index=int, point=int, draw=int,
        base=int, volts=double, amps=double, siemens=double, filament=double, var_amps=double,
    )
    cpdef int add_up(self, open_circuit_v, loads) except -1

    @cython.locals(draw=int)
    cdef int _look(self) except -1

    @cython.locals(found=Draws)
    cpdef Draws scaled(self, double factor)

    @cython.locals(draw=int, index=int)
    cdef int _put_scaled(self, Draws found, double factor) except -1

    @cython.locals(draw=int, part=int)
    cpdef list rows(self)

    @cython.locals(found="double[::1]")
    cpdef list undropped(self)

    @cython.locals(part="double[::1]", draw=int, base=int, active=double, lag=double)
    cdef int _find_undropped(self, double[::1] found) except -1

    @cython.locals(
        at="int[::1]", part="double[::1]", bulb=double, draw=int, place=int, base=int, volts=double,
        slope=double, fixed=double,
    )
    cdef int stand_in(self, double[::1] drop, double[::1] shunt, double[::1] constant) except -1

    @cython.locals(
        at="int[::1]", part="double[::1]", bulb=double, draw=int, place=int, base=int, a=double, b=double,
        square=double,
        volts=double, by_power=double, by_current=double, lag_power=double, lag_current=double, active=double,
        bend=double, slope=double,
    )
    cdef int stand_in_phase(
        self, double[::1] drop, double[::1] quadrature, double[::1] shunt, double[::1] constant
    ) except -1

    @cython.locals(
        at="int[::1]", part="double[::1]", bulb=double, draw=int, place=int, base=int, a=double, b=double,
        square=double,
        volts=double, active=double,
    )
    cdef int stand_across(
        self, double[::1] drop, double[::1] quadrature, double[::1] shunt, double[::1] constant
    ) except -1

    @cython.locals(
        at="int[::1]", part="double[::1]", bulb=double, draw=int, place=int, base=int, a=double, b=double,
        square=double,
        volts=double, active=double, lag=double,
    )
    cdef int drawn(
        self, double[::1] drop, double[::1] quadrature, double[::1] in_phase, double[::1] across
    ) except -1

    @cython.locals(
        at="int[::1]", part="double[::1]", exponent=double, width=int, draw=int, base=int, slope=int, a=double,
        b=double, square=double, volts=double, bulb=double, by_power=double, by_current=double, lag_power=double,
        lag_current=double, active=double, lag=double, bend=double, lag_bend=double,
    )
    cdef int find_slopes(self, double[::1] drop, double[::1] quadrature, double[::1] found) except -1

    @cython.locals(plan=Plan, found="double[::1]", each=int)
    cpdef list slopes(self, drop, quadrature)
