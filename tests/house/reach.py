"""Which definitions are reached from pages, commands, documents and the like, by reading the code and its imports.

A definition is a function, a class, a method or a constant at the top of a module. It is reached where something reached
names it: by a name that its module defines or imports, or as an attribute of an imported module; and where it is handed to
a decorator in a module that is imported. Whose attribute any other
one is cannot be known without running the code, so a method counts as reached where its class is and something reached,
or a template, names one called so.
"""

import ast
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

Key = tuple[str, str]  # module and name; a method as Class.method; what stands beside all definitions without a name


@dataclass(slots=True)
class Piece:
    """One definition: the keys it names, and attributes of who knows what."""

    names: set[Key] = field(default_factory=set)
    attributes: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class Code:
    pieces: Mapping[Key, Piece]
    imports: Mapping[str, Mapping[str, Key]]

    def defined(self, key: Key) -> Key | None:
        """Where a name is defined, followed through the modules that hand it on; None where it is not of this code."""
        seen: set[Key] = set()
        while key not in self.pieces:
            found = None if key in seen else self.imports.get(key[0], {}).get(key[1])
            if found is None:
                return None
            seen.add(key)
            key = found
        return key

    def named_by(self, key: Key) -> set[Key]:
        """The definitions that a piece names."""
        return {found for name in self.pieces[key].names if (found := self.defined(name))}

    def reached(self, is_root: Callable[[str], bool], words: Iterable[str] = ()) -> set[Key]:
        """What the modules for which `is_root` holds reach, all of their own included. `words`: those of the templates."""
        asked, found = set(words), set()
        work = {key for key in self.pieces if is_root(key[0])}
        while work:
            found |= work
            for key in work:
                asked |= self.pieces[key].attributes
            next_ones = {named for key in work for named in self.named_by(key)}
            modules = {module for module, _ in work}
            loaded = modules | {one for module in modules for one in self.loads(module)}
            beside = {(module, "") for module in loaded} & self.pieces.keys()
            work = (next_ones | beside | self.methods(found, asked)) - found
        return found

    def loads(self, module: str) -> Iterator[str]:
        """The modules that are imported with it: what stands beside their definitions is run then."""
        for owner, name in self.imports.get(module, {}).values():
            yield from (owner, f"{owner}.{name}")

    def methods(self, found: set[Key], asked: set[str]) -> set[Key]:
        split = ((key, key[1].rpartition(".")) for key in self.pieces)
        return {key for key, (owner, dot, name) in split if dot and name in asked and (key[0], owner) in found}


def read_code(files: Mapping[str, str]) -> Code:
    """Modules by their dotted names, each with its text."""
    pieces: dict[Key, Piece] = {}
    imports: dict[str, dict[str, Key]] = {}
    for module, text in files.items():
        tree = ast.parse(text)
        brought = (node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom))
        imports[module] = dict(bound for node in brought for bound in imported(module, node))
        parts = list(parts_of(tree))
        own = {name for name, _ in parts}
        for name, nodes in parts:
            piece = pieces.setdefault((module, name), Piece())
            for node in nodes:
                read_into(piece, node, module, own, imports[module], files)
    return Code(pieces, imports)


def parts_of(tree: ast.Module) -> Iterator[tuple[str, Sequence[ast.AST]]]:
    """Each definition with the nodes that make it. Methods that Python itself calls belong to their class."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name, [node]
        elif isinstance(node, ast.ClassDef):
            mine = [one for one in node.body if isinstance(one, ast.FunctionDef) and not one.name.startswith("__")]
            others = [*node.bases, *node.keywords, *node.decorator_list, *(one for one in node.body if one not in mine)]
            yield node.name, others
            yield from ((f"{node.name}.{one.name}", [one]) for one in mine)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            named = [one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)]
            yield from ((name, [node]) for name in named)
        elif not isinstance(node, ast.Import | ast.ImportFrom):
            yield "", [node]
    handed = [node.name for node in tree.body if isinstance(node, ast.FunctionDef) and is_handed_on(node)]
    yield "", [ast.Pass(), *(ast.Name(name, ast.Load()) for name in handed)]


def is_handed_on(node: ast.FunctionDef) -> bool:
    """A decorator that is called with arguments may keep the function and call it later, as a register of writers does."""
    return any(isinstance(one, ast.Call) and isinstance(one.func, ast.Name) for one in node.decorator_list)


def imported(module: str, node: ast.AST) -> Iterator[tuple[str, Key]]:
    """What an import binds, each name with the module and the name it stands for."""
    if isinstance(node, ast.ImportFrom):
        above = module.split(".")[: -node.level] if node.level else []
        source = ".".join([*above, *([node.module] if node.module else [])])
        yield from ((one.asname or one.name, (source, one.name)) for one in node.names)
    elif isinstance(node, ast.Import):
        for one in node.names:
            owner, _, last = one.name.rpartition(".")
            yield (
                (one.asname, (owner, last))
                if one.asname
                else (one.name.partition(".")[0], ("", one.name.partition(".")[0]))
            )


def read_into(
    piece: Piece, node: ast.AST, module: str, own: set[str], bound: Mapping[str, Key], files: Mapping[str, str]
) -> None:
    walked = list(ast.walk(node))
    hidden = locals_of(node, walked)

    def dotted(one: ast.AST) -> str | None:
        """The full name of an imported module that an expression stands for, as far as it is one."""
        if isinstance(one, ast.Name) and one.id in bound and one.id not in hidden:
            return ".".join(filter(None, bound[one.id]))
        if isinstance(one, ast.Attribute) and (owner := dotted(one.value)) is not None:
            return f"{owner}.{one.attr}"
        return None

    for one in walked:
        if isinstance(one, ast.Attribute):
            owner = dotted(one.value)
            if owner in files:
                piece.names.add((str(owner), one.attr))
            else:
                piece.attributes.add(one.attr)
        elif isinstance(one, ast.Name) and isinstance(one.ctx, ast.Load) and one.id not in hidden:
            if one.id in own:
                piece.names.add((module, one.id))
            elif one.id in bound:
                piece.names.add(bound[one.id])
        elif isinstance(one, ast.Call) and isinstance(one.func, ast.Name) and one.func.id in ("getattr", "attrgetter"):
            piece.attributes |= {str(arg.value) for arg in one.args if isinstance(arg, ast.Constant)}


def locals_of(node: ast.AST, walked: Sequence[ast.AST]) -> set[str]:
    """Names that a function binds itself: they hide those of its module."""
    if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
        return set()
    stored = {one.id for one in walked if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)}
    return stored | {one.arg for one in walked if isinstance(one, ast.arg)}
