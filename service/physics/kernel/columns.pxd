cimport cython
from libc cimport math


cdef double CERTAIN, LARGEST


@cython.locals(point=int, volts=double, upright=double, turn=double)
cpdef list voltages(open_circuit_v, list drop, list across)


@cython.locals(
    index=int, start=int, end=int, ohm=double, fall=double, turn=double, size=double, tap_v=double,
    current_a=double, start_v=double, end_v=double, upright=double, level=double, currents=list, drops=list, losses=list,
)
cpdef tuple flows(spans, open_circuit_v, list drop, list across, list voltage_v)


@cython.locals(
    index=int, volts=double, power=double, amps=double, siemens=double, filament=double, lag_power=double,
    lag_amps=double, active=double, lag=double, currents=list, powers=list,
)
cpdef tuple drawn(list loads, list voltage_v, double exponent)


@cython.locals(scale=double, found=list, index=int, value=double, nearest=double)
cpdef list rounded(list values, int decimals)
