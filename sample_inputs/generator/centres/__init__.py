"""One module a centre: how it works, how it writes, and what is wrong in its sheets."""

from sample_inputs.generator.centres import (
    avocet,
    dunlin,
    gannet,
    plover,
    sanderling,
    tern,
    turnstone,
)

CENTRES = tuple(
    module.CENTRE for module in (avocet, dunlin, gannet, plover, sanderling, tern, turnstone)
)

__all__ = ["CENTRES"]
