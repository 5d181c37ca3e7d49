"""Properties are tried without a clock: speed is measured in the bench, never in the tests."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
