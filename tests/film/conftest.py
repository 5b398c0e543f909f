from hypothesis import HealthCheck, settings

# How long an example takes says nothing on a busy machine.
settings.register_profile("film", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("film")
