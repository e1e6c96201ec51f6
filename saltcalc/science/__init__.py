"""The salt science: pure, numpy-broadcastable functions in documented units.

One phenomenon a module. No input or output, no units library, no web framework.
"""
