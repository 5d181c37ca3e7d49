"""The core of petalbar: music, motion, routine, checks and exports, without a user interface."""

__version__ = "0.1.0"
