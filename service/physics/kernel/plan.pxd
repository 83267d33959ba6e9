cimport cython


cdef class Plan:
    cdef readonly int points, links, leaves, slots, fills
    cdef int[::1] place, order, first, column, target
    cdef int[::1] _link, lower, upper, slot
    # While the order is sought.
    cdef int[::1] _to, _after, _head, _degree, _beside, _seen
    cdef int _halves, _stamp

    @cython.locals(
        count=int, to="int[::1]", after="int[::1]", head="int[::1]", point=int, half=int, start=int, end=int,
    )
    cdef int _set_down(self, pairs) except -1

    @cython.locals(
        points=int, to="int[::1]", after="int[::1]", head="int[::1]", links="int[::1]", degree="int[::1]",
        beside="int[::1]", seen="int[::1]", by="int[::1]", point=int, pair=int, neighbours=int, together=int,
        before=int, half=int, other=int, found=int,
    )
    cdef int _number(self, int count) except -1

    @cython.locals(
        points=int, degree="int[::1]", beside="int[::1]", places="int[::1]", order="int[::1]",
        first="int[::1]", column="int[::1]", waiting="int[::1]", top=int, point=int, leaves=int, other=int,
    )
    cdef int _strip_leaves(self) except -1

    @cython.locals(
        points="long long", places="int[::1]", order="int[::1]", first="int[::1]", degrees="int[::1]",
        removed=int, waiting=list, key="long long", point=int, degree=int, start=int, end=int, slot=int,
        other=int,
    )
    cdef int _take_loops_apart(self) except -1

    @cython.locals(
        places="int[::1]", to="int[::1]", after="int[::1]", column="int[::1]", end=int, half=int, other=int,
        slot=int,
    )
    cdef int _gather(self, int point, int start) except -1

    @cython.locals(
        width=int, places="int[::1]", to="int[::1]", after="int[::1]", column="int[::1]", seen="int[::1]",
        stamp=int, before=int, half=int, neighbours=int, there=int, slot=int,
    )
    cdef int _join(self, int other, int start, int end) except -1

    @cython.locals(
        places="int[::1]", first="int[::1]", column="int[::1]", to="int[::1]", links="int[::1]",
        lowers="int[::1]", uppers="int[::1]", slots="int[::1]", slot=int, pair=int, link=int, lower=int,
        upper=int,
    )
    cdef int _renumber(self) except -1

    @cython.locals(
        first="int[::1]", column="int[::1]", target="int[::1]", at="int[::1]", base=int, place=int, start=int,
        end=int, width=int, i=int, j=int, row=int, slot=int, other=int, low=int, high=int,
    )
    cdef int _aim(self) except -1

    cpdef conductances(self, open_circuit_v, spans)

    @cython.locals(links="int[::1]", index=int, volts=double, ohm=double)
    cdef int _add_up(self, open_circuit_v, spans, double[::1] found) except -1

    @cython.locals(
        found="double[::1]", links="int[::1]", index=int, link=int, other=int, volts=double, ohm=double,
    )
    cpdef changed(self, double[::1] conductance, open_circuit_v, spans, those)

    cpdef by_place(self, values)

    @cython.locals(places="int[::1]", point=int)
    cdef int _sort_in(self, values, double[::1] found) except -1

    @cython.locals(places="int[::1]", point=int)
    cpdef list by_point(self, double[::1] values)


@cython.locals(found="int[::1]", index=int)
cdef int[::1] _longer(int[::1] numbers, int least)
