cimport cython

from service.physics.kernel.draws cimport Draws
from service.physics.kernel.factor cimport Factor
from service.physics.kernel.plan cimport Plan


cdef int P_BY_DROP, P_BY_TURN, X_BY_DROP, X_BY_TURN


cdef class Tangent:
    cdef readonly int rounds
    cdef Plan _plan
    cdef Draws _draws
    cdef int _most_rounds
    cdef double _feeds, _settled
    cdef Factor _in_phase, _across
    cdef double[::1] _slopes

    @cython.locals(plan=Plan, draws=Draws, refused=int)
    cpdef int linearise(self, drop, quadrature) except -2

    @cython.locals(points=int, slopes="double[::1]", width=int, shunt="double[::1]", place=int)
    cdef int _remove(self, Factor factor, int which) except -2

    @cython.locals(
        plan=Plan, draws=Draws, in_phase=Factor, across=Factor, lam="double[::1]", mu="double[::1]",
        after="double[::1]", slopes="double[::1]", width=int, by_lam=int, by_mu=int,
        right="double[::1]",
        other="double[::1]", _=int, place=int, moved=double, largest=double,
    )
    cpdef tuple solve(self, drop, turn, bint backward)
