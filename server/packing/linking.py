"""Links modules into files: each in the order of its imports, in a function of its own, with its names as they are."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass

from packing.source import Module, NotPackable, linked, part_name

Read = Callable[[str], Module]
MAIN, NEAR, SHARED = "#main", "#near", "#shared"
HEAD = "// Packed from the page's modules; their names and lines are kept. Licences of others' parts: /app/vendor/licences/\n"


@dataclass(frozen=True)
class Part:
    """A file of the packed page: what it is called, the module it is for, its modules in order, and the files that it needs."""

    name: str
    entry: str
    modules: tuple[Module, ...]
    shares: tuple[str, ...] = ()


def parts_of(entry: str, read: Read, near: Container[str] = ()) -> list[Part]:
    """The first file, and one for each module that is imported later, without what the first has.

    What several later files share is a file of its own, which they import: '#near' what those of `near` need of it, '#shared'
    the rest. The first file is named '#main'.

    Raises
    ------
    NotPackable
        Modules import each other in a circle, or have something that the linker does not do.
    """
    first = in_order(entry, read)
    later: dict[str, dict[str, Module]] = {}
    waiting = dynamic_of(first.values())
    while waiting:
        target = waiting.pop(0)
        if target in first:
            raise NotPackable(target, 1, "an import() of what the first file has")
        if target not in later:
            later[target] = in_order(target, read)
            waiting += dynamic_of(later[target].values())
    common = {name: module for name, module in shared(later.values()).items() if name not in first}
    of_near = {name for target, closure in later.items() if target in near for name in closure}
    parts = [Part(MAIN, entry, tuple(first.values()))]
    if close := tuple(module for name, module in common.items() if name in of_near):
        parts.append(Part(NEAR, "", close))
    if rest := tuple(module for name, module in common.items() if name not in of_near):
        parts.append(Part(SHARED, "", rest, (NEAR,) if close else ()))
    here = first.keys() | common.keys()
    for target, closure in sorted(later.items()):
        name = part_name(target)
        if any(part.name == name for part in parts):
            raise NotPackable(target, 1, f"two later files called {name}")
        own = tuple(module for each, module in closure.items() if each not in here)
        needed = {NEAR: bool(close), SHARED: bool(rest) and target not in near}
        parts.append(Part(name, target, own, tuple(each for each, is_needed in needed.items() if is_needed)))
    return parts


def dynamic_of(modules: Iterable[Module]) -> list[str]:
    """What modules import later."""
    return sorted({target for module in modules for target in module.dynamic})


def shared(closures: Iterable[Mapping[str, Module]]) -> dict[str, Module]:
    """What is in more than one of several closures, in order."""
    seen: dict[str, Module] = {}
    twice: dict[str, Module] = {}
    for closure in closures:
        twice |= {name: module for name, module in closure.items() if name in seen}
        seen |= closure
    return twice


def in_order(entry: str, read: Read) -> dict[str, Module]:
    """A module and all that it imports, each after what it imports."""
    done: dict[str, Module] = {}
    path: list[str] = []

    def visit(name: str) -> None:
        if name in path:
            raise NotPackable(
                name, 1, f"modules that import each other: {' -> '.join([*path[path.index(name) :], name])}"
            )
        if name in done:
            return
        path.append(name)
        module = read(name)
        for each in module.imports:
            visit(each.module)
        path.pop()
        done[name] = module

    visit(entry)
    return done


def link(part: Part) -> str:
    """The text of a part's file."""
    opening = "export const $m = {};\n" if part.name == MAIN else f"import {{ $m }} from '{MAIN}';\n"
    opening += "".join(f"import '{each}';\n" for each in part.shares)
    closing = exported(part) if part.entry and part.name != MAIN else ""
    return HEAD + opening + "".join(wrapped(module) for module in part.modules) + closing


def link_alone(entry: str, read: Read) -> str:
    """The text of a worker's file: it has an address of its own and no import map."""
    modules = in_order(entry, read)
    later = dynamic_of(modules.values())
    if later:
        raise NotPackable(entry, 1, f"a worker that imports {later[0]} later")
    return HEAD + "const $m = {};\n" + "".join(wrapped(module) for module in modules.values())


def wrapped(module: Module) -> str:
    """A module as a function that runs at once and returns what it exports."""
    brought = "".join(brings(each.module, each.names) for each in module.imports)
    returned = ", ".join(outside if outside == inside else f"{outside}: {inside}" for outside, inside in module.exports)
    return f"{linked(module.name)} = (() => {{\n{brought}{module.body.decode()}return {{ {returned} }};\n}})();\n"


def brings(module: str, names: tuple[tuple[str, str], ...]) -> str:
    """The names of one import, as constants."""
    whole = "".join(f"const {here} = {linked(module)};\n" for there, here in names if there == "*")
    plain = [there if there == here else f"{there}: {here}" for there, here in names if there != "*"]
    return whole + (f"const {{ {', '.join(plain)} }} = {linked(module)};\n" if plain else "")


def exported(part: Part) -> str:
    """What a later file hands to who imports it."""
    (entry,) = (module for module in part.modules if module.name == part.entry)
    names = ", ".join(outside for outside, _ in entry.exports)
    return f"export const {{ {names} }} = {linked(part.entry)};\n"
