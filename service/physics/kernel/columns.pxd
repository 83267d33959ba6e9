cimport cython
from libc cimport math


@cython.locals(point=int, volts=double, upright=double, turn=double)
cpdef list voltages(open_circuit_v, list drop, list across)


@cython.locals(index=int, start=int, end=int, ohm=double, fall=double, turn=double, size=double, current_a=double)
cpdef list currents(spans, open_circuit_v, list drop, list across)
