cimport cython
from libc cimport math

from service.physics.kernel.plan cimport Plan


cdef class Factor:
    cdef readonly Plan plan
    cdef readonly bint held
    cdef double[::1] link, pivot, work, ratio

    @cython.locals(links="double[::1]", slots="int[::1]", link=int)
    cdef int _take(self, conductance) except -1

    @cython.locals(
        plan=Plan, link="double[::1]", ratio="double[::1]", pivots="double[::1]", column="int[::1]",
        target="int[::1]", first="int[::1]", leaves=int, points=int, aim=int, leaf=int, own=double,
        pivot=double, share=double, inner=int, place=int, start=int, end=int, slot=int, other=int,
    )
    cdef int eliminate(self, double[::1] shunt, double[::1] right) except -2

    @cython.locals(
        ratio="double[::1]", column="int[::1]", first="int[::1]", leaves=int, leaf=int, place=int, slot=int,
    )
    cdef int bring_inwards(self, double[::1] right) except -1

    @cython.locals(
        plan=Plan, ratio="double[::1]", pivot="double[::1]", column="int[::1]", first="int[::1]", leaves=int,
        place=int, value=double, slot=int, leaf=int,
    )
    cdef int bring_outwards(self, double[::1] values) except -1

    @cython.locals(place=int)
    cpdef int factorise(self, shunt) except -2

    @cython.locals(values="double[::1]")
    cpdef list solve(self, right)

    @cython.locals(diagonal="double[::1]")
    cpdef list transfer_diagonal(self)

    @cython.locals(
        plan=Plan, ratio="double[::1]", pivot="double[::1]", column="int[::1]", target="int[::1]",
        first="int[::1]", base=int, place=int, start=int, end=int, width=int, own=double, entry=double, i=int,
        j=int, low=int, high=int, seen=double, leaf=int, share=double,
    )
    cdef int _find_diagonal(self, double[::1] inverse, double[::1] diagonal) except -1
