"""Processes beside the event loop: what is heavy is answered there, so that what is light never waits for it.

Threads of one process share one interpreter, and with one that computes the loop gets its turn late. An
executor of the standard library would do, but for three things that are wanted here: to end one task without
the others, to know whether a task has begun, and no threads in a process that forks. So each worker is a
process of its own, started like any other program, with one socket to speak over.
"""
