cimport cython
from libc cimport math


cdef double STEP, CLOSE
cdef int MOST_STEPS


cdef class Curve:
    cdef double _real, _square, _here_reach, _here_volts, _here_slope
    cdef double[::1] _reach, _volts, _slope, _root
    cdef int _last

    @cython.locals(root=double)
    cpdef end(self, double burden)

    @cython.locals(low=double, high=double, middle=double)
    cdef int _follow(self) except -1

    cdef int _put(self) except -1

    cdef bint _rises(self, int place, double step) except -1

    @cython.locals(volts=double)
    cdef double _root_slope(self) except? -1.0

    @cython.locals(start=int, beyond=int, middle=int, step=double, missing=double, rise=double, _=int)
    cdef int _find(self, double root) except -1

    @cython.locals(reach=double, volts=double, slope=double, root=double)
    cdef double _current_ratio(self) except -1.0

    @cython.locals(
        reach=double, volts=double, slope=double, half=double, middle=double, far=double, bend_1=double,
        bend_2=double, bend_3=double, bend_4=double, slope_2=double, slope_3=double, slope_4=double,
    )
    cdef int _go(self, int place, double step) except -1

    cdef double _bend(self, double reach, double volts) except? -1.0
