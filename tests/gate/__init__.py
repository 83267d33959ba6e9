"""Breaks between two versions of the document, found by our own code: no differ tried finds them all.

What the gate's own tests change was asked of others on 2026-11-28: 50 breaks, which must be told, and 33
additions, which must not.

- ``api-schema-diff`` 1.0.4 (Python) told 10 of the 50, and 2 of the 33. It passes over bounds, patterns,
  defaults, `operationId`, security, headers, kinds of a choice, and all that a reply promises.
- ``api-diff-sentinel`` 1.0.2 (Python) told 2: it compares paths, methods and names of parameters, no schema.
- ``openapi-schema-diff`` 0.0.1 (Node.js) told 47, and 27 of the 33: it tells that two schemas differ, and not
  for whom, so that a bound that widens looks like one that narrows.
- ``@azure/oad`` 0.12.4 (Node.js) refuses the document: it reads OpenAPI 2, and ours is 3.1.

Differs that are no package of Python or Node.js, or that fetch a program of their own while being installed,
were not tried: the tests could not stand on them. None of those tried judges bounds that hang on a unit, by
which every quantity is held here.
"""
