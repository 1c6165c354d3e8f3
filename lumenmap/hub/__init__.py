"""A home hub over MQTT: on, off, dim, tonight's show, status."""
