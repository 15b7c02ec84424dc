"""Links modules into files: each in the order of its imports, in a function of its own, with its names as they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from packing.source import Module, NotPackable, linked, part_name

Read = Callable[[str], Module]
Ring = Callable[[frozenset[str]], bool]
"""Whether a module belongs there, by the later modules that need it; what a module there imports has to belong there or before."""
MAIN, SHARED = "#main", "#shared"
HEAD = "// Packed from the page's modules; their names and lines are kept. Licences of others' parts: /app/vendor/licences/\n"


@dataclass(frozen=True)
class Part:
    """A file of the packed page: what it is called, the module it is for, its modules in order, and the files that it needs."""

    name: str
    entry: str
    modules: tuple[Module, ...]
    shares: tuple[str, ...] = ()


def parts_of(entry: str, read: Read, rings: Mapping[str, Ring] | None = None) -> list[Part]:
    """The first file, and one for each module that is imported later, without what the first has.

    What several later files share is in files of their own, which they import as far as they need them: one for each of
    `rings`, by its name and in this order, of what none before it has; '#shared' has the rest. The first file is '#main'.

    Raises
    ------
    NotPackable
        Modules import each other in a circle, or have something that the linker does not do.
    """
    first = in_order(entry, read)
    later = later_of(first, read)
    common = {name: module for name, module in shared(later.values()).items() if name not in first}
    parts = [Part(MAIN, entry, tuple(first.values()))]
    parts += ring_files(common, later, {**(rings or {}), SHARED: lambda _: True})
    place = {module.name: part for part in parts[1:] for module in part.modules}
    here = first.keys() | common.keys()
    for target, closure in sorted(later.items()):
        name = part_name(target)
        if any(part.name == name for part in parts):
            raise NotPackable(target, 1, f"two later files called {name}")
        own = tuple(module for each, module in closure.items() if each not in here)
        parts.append(Part(name, target, own, needed(closure, place)))
    return parts


def later_of(first: Mapping[str, Module], read: Read) -> dict[str, dict[str, Module]]:
    """Each module that is imported later, with all that it imports."""
    later: dict[str, dict[str, Module]] = {}
    waiting = dynamic_of(first.values())
    while waiting:
        target = waiting.pop(0)
        if target in first:
            raise NotPackable(target, 1, "an import() of what the first file has")
        if target not in later:
            later[target] = in_order(target, read)
            waiting += dynamic_of(later[target].values())
    return later


def ring_files(
    common: Mapping[str, Module], later: Mapping[str, Mapping[str, Module]], rings: Mapping[str, Ring]
) -> Iterator[Part]:
    """A file for each ring in which there is anything."""
    users = {name: frozenset(target for target, closure in later.items() if name in closure) for name in common}
    place: dict[str, Part] = {}
    for name, is_of in rings.items():
        own = {each: module for each, module in common.items() if each not in place and is_of(users[each])}
        if own:
            imported = {each.module for module in own.values() for each in module.imports}
            part = Part(name, "", tuple(own.values()), needed(imported, place))
            place |= dict.fromkeys(own, part)
            yield part


def needed(modules: Iterable[str], place: Mapping[str, Part]) -> tuple[str, ...]:
    """The files in which modules lie, and those that these need, in order."""
    direct = {place[name].name: place[name] for name in modules if name in place}
    wanted = {each for part in direct.values() for each in (*part.shares, part.name)}
    return tuple(dict.fromkeys(part.name for part in place.values() if part.name in wanted))


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
