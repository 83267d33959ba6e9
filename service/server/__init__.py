"""The HTTP server: uvicorn with httptools, one process, bounded in what it takes and orderly in how it stops.

Why uvicorn: with four clients, a 2 kB reply and two cores it gave 17,000 to 22,000 requests a second, where
either of granian's servers gave 10,000, and granian's one-process server calls itself experimental. Granian
alone refused a 50 MB head and dropped one sent a byte a second; ``bounds`` gives uvicorn both, and holds the
body to the same time. Both stop alike on SIGTERM; ``drain`` adds that readiness flips first.
"""
