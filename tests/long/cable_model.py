"""The virtual cable at full count."""

from tests.firmware_sim.cable_model.checks import (
    both_ends_alike,
    coarse_grid_agrees,
    matrices_from_cross_section,
    networks_as_networkx,
    planted_networks,
    reciprocal_and_passive,
)
from tests.long import Check

CHECKS: tuple[Check, ...] = (
    Check("planted networks come back as a separate nodal analysis says", planted_networks, 1500),
    Check("resistor networks as networkx solves them", networks_as_networkx, 2000),
    Check("cables are reciprocal and passive", reciprocal_and_passive, 2000),
    Check("cables turned round twice", both_ends_alike, 1000),
    Check("coarse and full line grids agree", coarse_grid_agrees, 100),
    Check("matrices follow from the cross-sections", matrices_from_cross_section, 1024),
)
