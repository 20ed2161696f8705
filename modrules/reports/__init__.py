"""Reports: from the JSON report, a plain dict, to what people and tools read.

``shape`` declares the dict; every renderer is a pure function of it.
"""
