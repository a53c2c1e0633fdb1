"""Where the checkout is, and the dunlin's throttle step."""

import pathlib

import pytest
import tossline

CHECKOUT = pathlib.Path(__file__).resolve().parents[3]


@pytest.fixture(scope="session")
def checkout() -> pathlib.Path:
    return CHECKOUT


@pytest.fixture(scope="session")
def step() -> tossline.Scenario:
    return tossline.load_scenario(CHECKOUT / "scenarios/ready/step-in-calm.json")


@pytest.fixture(scope="session")
def dunlin() -> tossline.Airframe:
    return tossline.load_airframe(CHECKOUT / "demo-airframes/dunlin.json")
