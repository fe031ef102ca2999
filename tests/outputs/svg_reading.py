"""
Read a finished SVG back: where every text's ink lies and where every named shape lies, in millimetres of the page.

Comes in as SVG text as the drawing library writes it (text as glyph outlines); goes out as bounds by id.
"""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

MM_PER_PT = 25.4 / 72
SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
_TOKEN = re.compile(r"[MLQCZz]|-?\d+(?:\.\d+)?(?:e-?\d+)?")
_STEP = re.compile(r"(\w+)\(([^)]*)\)")

Matrix = tuple[float, float, float, float, float, float]
Point = tuple[float, float]
IDENTITY: Matrix = (1, 0, 0, 1, 0, 0)


@dataclass(frozen=True)
class Bounds:
    """A rectangle in mm from the page's left upper corner."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Bounds, slack: float) -> bool:
        """Whether both share an area that is wider and higher than ``slack``."""
        across = min(self.right, other.right) - max(self.left, other.left)
        along = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > slack and along > slack

    def inside(self, other: Bounds, slack: float) -> bool:
        """Whether this lies in the other, give or take ``slack``."""
        return (
            self.left >= other.left - slack
            and self.right <= other.right + slack
            and self.top >= other.top - slack
            and self.bottom <= other.bottom + slack
        )


class SvgDrawing:
    """One SVG file, read."""

    def __init__(self, text: str) -> None:
        self._root = ElementTree.fromstring(text)
        self._glyphs: dict[str, Sequence[Point]] = {}
        self._elements = {item.get("id", ""): item for item in self._root.iter() if item.get("id")}

    @cached_property
    def page(self) -> Bounds:
        """The page."""
        _, _, width, height = map(float, str(self._root.get("viewBox")).split())
        return Bounds(0, 0, width * MM_PER_PT, height * MM_PER_PT)

    @cached_property
    def bounds_by_id(self) -> dict[str, Bounds]:
        """Bounds of every element with an id outside of definitions that draws something."""
        found = {}
        for name, element in self._elements.items():
            if element.tag == f"{SVG}g":
                points = list(self._points(element, IDENTITY))
                if points:
                    found[name] = _bounds(points)
        return found

    def style_of(self, name: str) -> str:
        """Style of the first path of a named shape."""
        return str(next(self._elements[name].iter(f"{SVG}path")).get("style"))

    def _points(self, element: ElementTree.Element, outer: Matrix) -> Iterator[Point]:
        matrix = _times(outer, _matrix(element.get("transform", "")))
        if element.tag == f"{SVG}defs":
            return
        if element.tag == f"{SVG}path":
            yield from (_apply(matrix, point) for point in _outline(element.get("d", "")))
        if element.tag == f"{SVG}use":
            yield from (_apply(matrix, corner) for corner in self._corners(str(element.get(HREF)).removeprefix("#")))
        for child in element:
            yield from self._points(child, matrix)

    def _corners(self, glyph: str) -> Sequence[Point]:
        """Two corners of a glyph; turns are by right angles, so that they bound it however it is placed."""
        if glyph not in self._glyphs:
            points = list(self._points(self._elements[glyph], IDENTITY))
            xs, ys = [x for x, _ in points], [y for _, y in points]
            self._glyphs[glyph] = ((min(xs), min(ys)), (max(xs), max(ys))) if points else ()
        return self._glyphs[glyph]


def _bounds(points: Sequence[Point]) -> Bounds:
    xs, ys = [x * MM_PER_PT for x, _ in points], [y * MM_PER_PT for _, y in points]
    return Bounds(min(xs), min(ys), max(xs), max(ys))


def _matrix(text: str) -> Matrix:
    matrix = IDENTITY
    for name, arguments in _STEP.findall(text):
        numbers = [float(number) for number in _NUMBER.findall(arguments)]
        matrix = _times(matrix, _step(name, numbers))
    return matrix


def _step(name: str, numbers: Sequence[float]) -> Matrix:
    if name == "translate":
        return 1, 0, 0, 1, numbers[0], numbers[1] if len(numbers) > 1 else 0
    if name == "scale":
        return numbers[0], 0, 0, numbers[-1], 0, 0
    if name == "rotate" and round(numbers[0]) % 90 == 0:
        sine, cosine = {0: (0, 1), 90: (1, 0), 180: (0, -1), 270: (-1, 0)}[round(numbers[0]) % 360]
        return cosine, sine, -sine, cosine, 0, 0
    raise ValueError(f"a transform that no sheet should hold: {name} {numbers}")


def _times(first: Matrix, second: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    p, q, r, s, t, u = second
    return a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f


def _apply(matrix: Matrix, point: Point) -> Point:
    a, b, c, d, e, f = matrix
    x, y = point
    return a * x + c * y + e, b * x + d * y + f


def _outline(text: str) -> Iterator[Point]:
    """Points on a path; curves are sampled, because their control points lie outside of the ink."""
    tokens = _TOKEN.findall(text)
    here: Point = (0.0, 0.0)
    command, place = "", 0
    while place < len(tokens):
        if tokens[place] in "MLQCZz":
            command, place = tokens[place], place + 1
            if command in "Zz":
                continue
        count = {"M": 1, "L": 1, "Q": 2, "C": 3}[command]
        numbers = [float(token) for token in tokens[place : place + 2 * count]]
        place += 2 * count
        controls = [here, *zip(numbers[::2], numbers[1::2], strict=True)]
        for sample in (0.25, 0.5, 0.75) if count > 1 else ():
            yield _on_curve(controls, sample)
        here = controls[-1]
        yield here


def _on_curve(controls: Sequence[Point], share: float) -> Point:
    """De Casteljau's point of a Bezier curve."""
    points = list(controls)
    while len(points) > 1:
        points = [(x + share * (u - x), y + share * (v - y)) for (x, y), (u, v) in itertools.pairwise(points)]
    return points[0]
