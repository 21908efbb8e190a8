"""Golden jobs, handed over by somebody else, in the house of Ines."""

from __future__ import annotations

import pytest

from holdtrue.service.services import Services
from tests import walking
from tests.web.conftest import Visitor


@pytest.fixture
def clean(services: Services, lead: Visitor) -> str:
    return walking.handed_over(services)


@pytest.fixture
def off(services: Services, lead: Visitor) -> str:
    """Seat B1 came out off; four residuals are outside."""
    return walking.handed_over(services, "off")
