"""Checks the shape of the tree: lint.py ROOT. One line a rule, then "N passed, N failed".

Each rule is a function that yields its complaints; RULES lists them.
"""

import pathlib
import re
import shutil
import subprocess
import sys

# Includes point one way: a folder may include these and no other.
MAY_INCLUDE = {
    "core": {"core"},
    "labels": {"core", "labels"},
    "sync": {"core", "sync"},
    "cli": {"core", "labels", "sync", "cli"},
    "tests": {"core", "labels", "sync", "cli", "tests"},
}
PRODUCT = ("core", "labels", "sync", "cli")
MAX_LINES = 600
# Another version of clang-format breaks lines differently, so only this one judges.
CLANG_FORMAT_MAJOR = 14

INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.M)
# Of the C library, POSIX and Linux; headers of the C++ library have neither a dot nor a slash.
SYSTEM_HEADER = re.compile(
    r"^(sys|netinet|arpa|net|linux)/|^(unistd|fcntl|poll|signal|termios|dirent|netdb|ifaddrs|errno|spawn|dlfcn|pwd|pthread"
    r"|sched|string|strings|stdlib|stdio|stddef|stdint|limits|math|time|ctype|setjmp|assert|wchar|locale)\.h$")
LEFT_UNDONE = re.compile(r"\b(" + "TO" + "DO|FIX" + "ME)\b")


def files(root, *suffixes):
    for folder in MAY_INCLUDE:
        for path in sorted((root / folder).rglob("*")):
            if path.is_file() and path.suffix in suffixes and "node_modules" not in path.parts:
                yield path, path.relative_to(root)


def includes(root):
    """(file, is quoted, header) of every include."""
    for path, name in files(root, ".h", ".cpp"):
        for quote, header in INCLUDE.findall(path.read_text(encoding="utf-8")):
            yield name, quote == '"', header


def includes_point_one_way(root):
    for name, quoted, header in includes(root):
        layer = name.parts[0]
        target = header.split("/")[0]
        if quoted and target not in MAY_INCLUDE:
            yield f'{name} includes "{header}", which does not start at the root'
        elif quoted and target not in MAY_INCLUDE[layer]:
            yield f'{name} includes "{header}", but {layer} may only include {", ".join(sorted(MAY_INCLUDE[layer]))}'


def quoted_headers_exist(root):
    for name, quoted, header in includes(root):
        if quoted and not (root / header).is_file():
            yield f'{name} includes "{header}", which does not exist'


def library_of(header):
    """The library that a header in angle brackets belongs to, or None for the system's own."""
    if SYSTEM_HEADER.search(header) or ("." not in header and "/" not in header):
        return None
    return header.split("/")[0]


def each_library_has_one_home(root):
    homes = {}
    for name, quoted, header in includes(root):
        library = None if quoted else library_of(header)
        if library and name.parts[0] in PRODUCT:
            # Commands are what these three are for: the whole of cli is their home.
            home = "cli" if name.parts[0] == "cli" and library in {"CLI", "fmt", "nlohmann"} else name.parent
            homes.setdefault((name.parts[0], library), set()).add(home)
    for (layer, library), folders in sorted(homes.items()):
        if len(folders) > 1:
            yield f"{layer} includes <{library}> in several folders: {', '.join(sorted(map(str, folders)))}"


def test_libraries_are_wrapped(root):
    for name, quoted, header in includes(root):
        if not quoted and library_of(header) == "catch2" and name.parent != pathlib.Path("tests/support"):
            yield f"{name} includes <{header}>; tests/support/catch.h knows which version there is"


def no_namespace_is_opened_at_file_scope(root):
    # In a header, it would leak into every file that includes it.
    for path, name in files(root, ".h"):
        if re.search(r"^using namespace", path.read_text(encoding="utf-8"), re.M):
            yield f"{name} has a using-directive at file scope"


def headers_are_included_once(root):
    for path, name in files(root, ".h"):
        if "#pragma once" not in path.read_text(encoding="utf-8"):
            yield f"{name} lacks #pragma once"


def files_are_short(root):
    for path, name in files(root, ".h", ".cpp", ".mjs", ".js", ".py", ".css", ".html"):
        lines = path.read_text(encoding="utf-8").count("\n")
        if lines > MAX_LINES:
            yield f"{name} has {lines} lines, {MAX_LINES} are the limit"


def nothing_is_left_undone(root):
    for path, name in files(root, ".h", ".cpp", ".mjs", ".js", ".py", ".css", ".html", ".md", ".txt", ""):
        found = LEFT_UNDONE.search(path.read_text(encoding="utf-8"))
        if found:
            yield f"{name} says {found.group(0)}: do it, or say in DEVELOPERS.md what is missing"


def clang_format():
    """The program that judges, or None."""
    for name in (f"clang-format-{CLANG_FORMAT_MAJOR}", "clang-format"):
        program = shutil.which(name)
        if program and f"version {CLANG_FORMAT_MAJOR}." in subprocess.run(
                [program, "--version"], capture_output=True, text=True, check=True).stdout:
            return program
    return None


def sources_are_formatted(root):
    program = clang_format()
    if program is None:
        print(f"     (clang-format {CLANG_FORMAT_MAJOR} is not installed: the format was not judged)")
        return
    names = [str(name) for _, name in files(root, ".h", ".cpp")]
    result = subprocess.run([program, "--dry-run", *names], cwd=root, capture_output=True, text=True, check=False)
    for name in sorted({line.split(":")[0] for line in result.stderr.splitlines() if "clang-format-violations" in line}):
        yield f"{name} is not formatted: run clang-format -i on it"


def types_of_the_page_hold(root):
    # What the page's modules say of their types in JSDoc, judged by the compiler that tests/browser names.
    compiler = root / "tests/browser/node_modules/typescript/bin/tsc"
    node = shutil.which("node")
    if node is None or not compiler.is_file() or not (root / "sync/page/node_modules").is_dir():
        print("     (typescript is not installed in tests/browser: the page's types were not judged)")
        return
    result = subprocess.run([node, str(compiler), "--project", "sync/page"], cwd=root, capture_output=True, text=True, check=False)
    yield from result.stdout.splitlines()


SHARED_OPTION = re.compile(r"auto (\w+) = std::make_shared<")
CAPTURES = re.compile(r"\[([^\[\]]*)\]\s*[({]")


def options_live_as_long_as_their_verb(root):
    # The parser writes into what a verb's callback holds; what no callback holds is gone before anything is parsed.
    for path, name in files(root, ".cpp"):
        if name.parts[0] != "cli":
            continue
        text = path.read_text(encoding="utf-8")
        for found in SHARED_OPTION.finditer(text):
            option = found.group(1)
            body = text[found.end():text.find("\n}\n", found.end())]
            held = any(re.search(rf"(^|[ ,=]){option}($|[ ,])", one) for one in CAPTURES.findall(body))
            if not held and not re.search(rf"run_with\([^;]*\b{option}\b", body):
                yield f"{name}: no callback captures {option}, so it is freed before the parser writes into it"


def mutants_can_be_planted(root):
    # A mutant whose text the sources no longer have tests nothing, and nobody notices before the next long run.
    result = subprocess.run([sys.executable, "tests/mutants/run", "--plantable"], cwd=root, capture_output=True, text=True, check=False)
    yield from (result.stdout + result.stderr).splitlines()


RULES = (
    includes_point_one_way,
    quoted_headers_exist,
    each_library_has_one_home,
    test_libraries_are_wrapped,
    no_namespace_is_opened_at_file_scope,
    headers_are_included_once,
    files_are_short,
    nothing_is_left_undone,
    sources_are_formatted,
    types_of_the_page_hold,
    options_live_as_long_as_their_verb,
    mutants_can_be_planted,
)


def main(root):
    failed = 0
    for rule in RULES:
        complaints = list(rule(root))
        failed += bool(complaints)
        print(f"{'FAILED' if complaints else 'ok':6} {rule.__name__.replace('_', ' ')}")
        for complaint in complaints:
            print(f"       {complaint}")
    print(f"{len(RULES) - failed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main(pathlib.Path(sys.argv[1]).resolve()))
