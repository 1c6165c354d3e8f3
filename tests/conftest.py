"""What holds for every test: numpy faults raise, and no test writes outside its own folder."""

from pathlib import Path

import numpy as np
import pytest


@pytest.fixture(autouse=True)
def _numpy_faults_raise():
    with np.errstate(divide="raise", over="raise", invalid="raise"):
        yield


@pytest.fixture(scope="session")
def examples() -> Path:
    """The folder of example houses."""
    return Path(__file__).resolve().parents[1] / "examples"
