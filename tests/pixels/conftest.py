"""The small house for these tests."""

from tests.small_house import load  # noqa: F401 - a fixture
