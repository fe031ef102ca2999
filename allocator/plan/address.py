"""Addresses within a plan, under the name by which the rooms below know them; ``allocator/address.py`` reads them."""

from allocator.address import (
    ROW_LETTERS,
    Place,
    SocketPlace,
    StudPlace,
    parse_place,
    parse_socket,
    parse_stud,
)

__all__ = ["ROW_LETTERS", "Place", "SocketPlace", "StudPlace", "parse_place", "parse_socket", "parse_stud"]
