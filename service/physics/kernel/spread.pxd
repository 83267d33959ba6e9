cimport cython
from libc cimport math


cdef double STEP, CLOSE
cdef int MOST_STEPS


cdef class Walk:
    cdef readonly double reach, volts, slope
    cdef double _real, _square

    cdef double root(self) except? -1.0

    cdef double root_slope(self) except? -1.0

    @cython.locals(root=double, across=double)
    cdef double current_ratio(self) except -1.0

    @cython.locals(
        half=double, middle=double, far=double, bend_1=double, bend_2=double, bend_3=double, bend_4=double,
        slope_2=double, slope_3=double, slope_4=double,
    )
    cdef int go(self, double reach, double volts, double slope, double step) except -1

    @cython.locals(step=double, missing=double, rise=double, _=int)
    cdef int find(self, double reach, double volts, double slope, double root) except -1

    cdef double _bend(self, double reach, double volts) except? -1.0


cdef class Curve:
    cdef double _power_factor
    cdef double[::1] _reach, _volts, _slope, _root
    cdef int _last

    @cython.locals(root=double, walk=Walk, start=int)
    cpdef end(self, double burden)

    @cython.locals(low=double, high=double, middle=double)
    cdef int _follow(self, Walk walk) except -1

    cdef int _step(self, Walk walk, double step) except -1

    cdef int _put(self, Walk walk) except -1

    @cython.locals(start=int, beyond=int, middle=int)
    cdef int _before(self, double root) except -1
