"""Compiled kernels: typed numba, kept where a change in the sources is noticed."""
