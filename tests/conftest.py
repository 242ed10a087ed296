"""Settings that all tests share."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "house", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("house")
