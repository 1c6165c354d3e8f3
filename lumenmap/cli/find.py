"""lumenmap find: which controllers are on your network."""

from __future__ import annotations

from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json, print_report


def find(
    network: Annotated[
        str,
        typer.Argument(
            metavar="NETWORK",
            help="Your home network, such as 192.168.1.0/24, or one controller's address.",
        ),
    ],
    as_json: Json = False,
) -> None:
    """Find controllers on your home network: those that speak Art-Net answer within 3 seconds.

    Only the network that you name is asked, by one broadcast packet. A controller that speaks E1.31
    alone doesn't answer; your router's page lists its address. Exits with 1 if none answers.

    Example: lumenmap find 192.168.1.0/24
    """
    from lumenmap.controller.discovery import find as find_nodes

    nodes = find_nodes(network)
    lines = []
    for node in nodes:
        outputs = ", ".join(map(str, node.port_addresses)) or "none named"
        lines.append(f"{node.address}  {node.name}  port-addresses {outputs}")
        lines.append(f"  send to it with --to artnet:{node.address}")
    if not nodes:
        lines.append(
            f"no controller on {network} answered. See that it is on and speaks Art-Net; one "
            "that speaks E1.31 alone doesn't answer."
        )
    rows = [
        {"address": n.address, "name": n.name, "port_addresses": list(n.port_addresses)}
        for n in nodes
    ]
    print_report({"network": network, "controllers": rows}, lines, as_json)
    if not nodes:
        raise typer.Exit(1)
