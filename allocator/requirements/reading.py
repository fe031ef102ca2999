"""
A scenario folder or a plan's JSON in, ``Requirements`` out; or one ``InputError`` with every fault of every file.

The three documents of a vehicle (scenario, circuits, catalogue) are read on their own, so that a fault in one does not
hide the faults of the others, and are then checked against each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import Any, TypeVar

from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Catalogue, Strict
from allocator.requirements.circuits import circuits_document, circuits_table
from allocator.requirements.documents import Document
from allocator.requirements.drafting import Draft
from allocator.requirements.files import is_within, read_toml
from allocator.requirements.places import Item, Origins, Overlay, PlacedFault, Spot
from allocator.requirements.scenario import Bond, Circuit, Requirements, Scenario
from allocator.requirements.validating import catalogue_faults, cross_faults
from allocator.requirements.variants import Documents, Variant, drops_told, overlaid, read_variant

SHIPPED_CATALOGUE = Path(__file__).parent / "data" / "catalogue.toml"
_SHIPPED_NAME = "the catalogue that ships"
_VARIANT, _SCENARIO, _CIRCUITS, _CATALOGUE = range(4)
"""Order in which the faults of the documents are listed."""

R = TypeVar("R")
S = TypeVar("S", bound=Strict)


def load_scenario(folder: Path | str, variant: Path | str | None = None) -> Requirements:
    """
    Read a scenario folder: ``scenario.toml``, ``circuits.csv`` or ``circuits.xlsx``, and the catalogue it names.

    Parameters
    ----------
    folder
        The folder.
    variant
        A file in the folder that says what is other than in the scenario; none: the scenario as it stands.

    Returns
    -------
    Requirements
        Typed, complete and cross-checked.

    Raises
    ------
    InputError
        With every fault that was found.
    """
    folder = Path(folder)
    _check_folder(folder)
    faults: list[PlacedFault] = []
    changes = (
        None if variant is None else _collect(faults, _VARIANT, lambda: read_variant(Path(variant), folder, _VARIANT))
    )
    scenario_file = folder / "scenario.toml"
    raw = _collect(faults, _SCENARIO, lambda: read_toml(scenario_file, scenario_file.as_posix()))
    table = _collect(faults, _CIRCUITS, lambda: circuits_table(folder))
    named = _catalogue_named(folder, raw, changes, faults)
    raw_catalogue = None if named is None else _collect(faults, _CATALOGUE, named.read)
    laid: dict[str, Overlay] = {}
    if changes is not None:
        rows = None if table is None else list(table.rows)
        documents = Documents(raw, rows, raw_catalogue)
        overlays, misfits = overlaid(changes, documents)
        faults += misfits
        laid = {name: overlays.of(name) for name in ("scenario", "circuits", "catalogue")}
        table = None if table is None or rows is None else replace(table, rows=tuple(rows))
    scenario, scenario_value = (None, None)
    if raw is not None:
        scenario, scenario_value = _read(Scenario, raw, scenario_file.as_posix(), _SCENARIO, laid.get("scenario"))
    catalogue, catalogue_value = (None, None)
    if named is not None and raw_catalogue is not None:
        catalogue, catalogue_value = _read(Catalogue, raw_catalogue, named.file, _CATALOGUE, laid.get("catalogue"))
    circuits, bonds = (None, {}) if table is None else circuits_document(table, _CIRCUITS, laid.get("circuits"))
    draft = Draft(scenario, circuits, catalogue, bonds)
    try:
        return _finished(draft, scenario_value, catalogue_value, faults)
    except InputError as error:
        raise error if changes is None else InputError(drops_told(error.faults, changes)) from None


def load_variant_title(folder: Path, variant: Path) -> str:
    """Return the title of a variant of a scenario; raise InputError where the file cannot be read."""
    return read_variant(variant, folder, _VARIANT).title


def load_catalogue(path: Path | None = None) -> Catalogue:
    """
    Read and check a catalogue.

    Parameters
    ----------
    path
        A TOML file; none: the catalogue that ships.

    Raises
    ------
    InputError
        With every fault that was found.
    """
    shown_path = _SHIPPED_NAME if path is None else path.as_posix()
    raw = read_toml(path or SHIPPED_CATALOGUE, shown_path)
    document, value = _read(Catalogue, raw, shown_path, _CATALOGUE)
    faults = [*document.faults, *catalogue_faults(Draft(None, None, document, {}))]
    if faults or value is None:
        raise _input_error(faults)
    return value


def requirements_to_json(requirements: Requirements) -> dict[str, Any]:
    """Return requirements as plain data for a JSON file, with the unit written behind every number."""
    return requirements.model_dump(mode="json")


def requirements_from_json(data: object, file: str = "plan.json") -> Requirements:
    """
    Read requirements back from plain data, with every check that the files of a scenario get.

    Parameters
    ----------
    data
        What ``requirements_to_json`` gave, perhaps edited since.
    file
        Name of the file for messages.

    Raises
    ------
    InputError
        With every fault that was found.
    """
    if not isinstance(data, Mapping):
        raise InputError([Fault("not-a-table", "the requirements are no table of named values", file)])
    faults = [
        PlacedFault((_SCENARIO,), Fault("missing-field", f'the requirements have no "{name}"', file))
        for name in Requirements.model_fields
        if not isinstance(data.get(name), list if name == "circuits" else Mapping)
    ]
    if not faults and not data["circuits"]:
        faults.append(PlacedFault((_CIRCUITS,), Fault("empty-table", "there are no circuits", file)))
    if faults:
        raise _input_error(faults)
    scenario, scenario_value = _read(Scenario, data["scenario"], file, _SCENARIO)
    catalogue, catalogue_value = _read(Catalogue, data["catalogue"], file, _CATALOGUE)
    circuits = Document(file, _CIRCUITS)
    circuits.entries(Circuit, data["circuits"], "circuits")
    return _finished(Draft(scenario, circuits, catalogue, {}), scenario_value, catalogue_value, faults)


def _read(
    model: type[S], raw: Mapping[str, Any], file: str, rank: int, overlay: Overlay | None = None
) -> tuple[Document, S | None]:
    document = Document(file, rank, overlay)
    return document, document.read(model, raw)


def _finished(
    draft: Draft, scenario: Scenario | None, catalogue: Catalogue | None, faults: Sequence[PlacedFault]
) -> Requirements:
    documents = [document for document in (draft.scenario, draft.circuits_table, draft.catalogue) if document]
    found = [*faults, *chain.from_iterable(document.faults for document in documents)]
    found += [*cross_faults(draft), *catalogue_faults(draft)]
    if found or scenario is None or catalogue is None:
        raise _input_error(found)
    rules = scenario.rules.model_copy(
        update={rule: tuple(item.value for item in _bond_items(rule, draft)) for rule in ("apart", "together")}
    )
    circuits = tuple(item.value for item in draft.circuits)
    scenario = scenario.model_copy(update={"rules": rules})
    return Requirements(scenario=scenario, circuits=circuits, catalogue=catalogue).read_from(_origins(draft))


def _origins(draft: Draft) -> Origins:
    spots = {("circuits", item.value.id): item.spot for item in draft.circuits}
    tables = {} if draft.scenario is None else draft.scenario.items
    spots |= {(name, ""): tables[name][0].spot for name in ("vehicle", "supply") if tables.get(name)}
    spots |= {("feeds", item.value.name): item.spot for item in draft.feeds}
    spots |= {("panels", item.value.name): item.spot for item in draft.panels}
    spots |= {("rules", ""): draft.rules.spot} if draft.rules else {}
    spots |= {("rules.modules", item.value.module): item.spot for item in draft.rule_items("modules")}
    spots |= {("rules.spares", str(number)): item.spot for number, item in enumerate(draft.rule_items("spares"), 1)}
    for rule in ("apart", "together"):
        spots |= {(f"rules.{rule}", str(number)): item.spot for number, item in enumerate(_bond_items(rule, draft), 1)}
    return Origins(spots)


def _bond_items(rule: str, draft: Draft) -> tuple[Item[Bond], ...]:
    """Return the bonds of a rule, each once, with where it is written first."""
    bonds: dict[tuple[tuple[str, ...], str], Item[Bond]] = {}
    for item in draft.rule_items(rule):
        bonds.setdefault((tuple(sorted(item.value.circuits)), item.value.level), item)
    return tuple(bonds.values())


def _input_error(faults: Iterable[PlacedFault]) -> InputError:
    ordered = sorted(faults, key=lambda placed: placed.order)
    return InputError(dict.fromkeys(placed.fault for placed in ordered))


def _collect(faults: list[PlacedFault], rank: int, read: Callable[[], R]) -> R | None:
    try:
        return read()
    except InputError as error:
        faults.extend(PlacedFault((rank,), fault) for fault in error.faults)
        return None


def _check_folder(folder: Path) -> None:
    try:
        if folder.is_dir():
            with suppress(FileNotFoundError):
                (folder / "scenario.toml").lstat()  # refused where the folder may not be entered
            return
        reason = "is a file; a scenario is a folder" if folder.exists() else "does not exist"
    except (OSError, ValueError):
        reason = "cannot be opened"
    hint = "give the folder that holds scenario.toml"
    raise InputError([Fault("no-folder", f"the scenario folder {reason}", folder.as_posix(), hint=hint)])


@dataclass(frozen=True, slots=True)
class _Named:
    """The catalogue that counts: its file, what messages call it, and where it is named; nowhere if it ships."""

    path: Path
    file: str
    spot: Spot | None = None

    def read(self) -> dict[str, Any]:
        """Return what the file says; that it is not there is a fault of the field that names it."""
        try:
            return read_toml(self.path, self.file)
        except InputError as error:
            if self.spot is None or error.faults[0].rule != "no-file":
                raise
            (missing,) = error.faults
            hint = missing.hint or f"name a file in the scenario folder, or leave the field out for {_SHIPPED_NAME}"
            raise InputError([replace(missing, where=self.spot.where("catalogue"), hint=hint)]) from None


def _catalogue_named(
    folder: Path, raw: Mapping[str, Any] | None, variant: Variant | None, faults: list[PlacedFault]
) -> _Named | None:
    """Return the catalogue that counts, the variant's or the scenario's; None where it may not be read."""
    name = (raw or {}).get("catalogue")
    spot = Spot((folder / "scenario.toml").as_posix(), "", "the file", (_SCENARIO,), raw or {})
    if variant is not None and variant.catalogue is not None:
        name, spot = variant.catalogue, variant.spot
    if not name or not isinstance(name, str):
        return _Named(SHIPPED_CATALOGUE, _SHIPPED_NAME)
    if is_within(folder / name, folder):
        return _Named(folder / name, (folder / name).as_posix(), spot)
    message, known = "the catalogue is outside the scenario folder", "expected a file in the scenario folder"
    faults.append(spot.fault("outside-folder", message, "catalogue", known=known))
    return None
