"""The closed loop in time: controller, sensor, delay, film."""
