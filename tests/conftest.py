"""What holds for every test: none fails because the machine is busy; times stand in tests/bench."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
