"""Tools for developers: trials, log trials, curves of the banks. Not part of the installed package."""
