"""The command line: make a study, check it by hand, run it."""

import argparse
import os
import sys

from darkspell import __version__
from darkspell.core.constants import CHEMISTRIES
from darkspell.core.errors import StudyError, printable

ABOUT = """\
How much array and battery bank for a place and its appliances, and how sure that is.

  darkspell new config/mine.yaml --latitude 60.2 --longitude 24.9
  darkspell check config/mine.yaml      the hand calculation, at once
  darkspell try config/mine.yaml bank.capacity_ah=300    the simulation alone, and what a change brings
  darkspell run config/mine.yaml        a thousand years of weather
  darkspell compare config/mine.yaml log.csv    a monitor's log against the study

A study is one YAML file; every key is listed in config/README.md."""


def main(words=None):
    """Run the command line.

    Parameters
    ----------
    words : list of str, optional
        Arguments; those of the process if not given.

    Returns
    -------
    int
        Exit code: 0, 1 for a fault reported on standard error, 130 if stopped; argparse exits with 2.
    """
    words = sys.argv[1:] if words is None else words
    asked = arguments(words or ["--help"])
    try:
        return asked.do(asked)
    except StudyError as fault:
        print(printable(fault), file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    except OSError as error:  # a full disk, a folder that is not ours
        name = f"{error.filename}: " if error.filename else ""
        print(printable(f"{name}{error.strerror or error}"), file=sys.stderr)
        _abandon(sys.stdout)
        return 1


def _abandon(stream):
    """Drop what could not be printed, or Python tries again as it ends, with an error of its own."""
    try:
        stream.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def arguments(words):
    """What the words ask for; changes of `try` may also follow its options.

    Parameters
    ----------
    words : list of str

    Returns
    -------
    argparse.Namespace
    """
    top = parser()
    asked, rest = top.parse_known_args(words)
    late = hasattr(asked, "changes") and all("=" in word and not word.startswith("-") for word in rest)
    if rest and not late:
        top.error(f"unrecognized arguments: {' '.join(rest)}")
    if rest:
        asked.changes = [*asked.changes, *rest]
    return asked


def parser():
    """Argument parser of the command line."""
    top = argparse.ArgumentParser(
        "darkspell", description=ABOUT, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    top.add_argument("--version", action="version", version=f"darkspell {__version__}")
    commands = top.add_subparsers(title="commands", metavar="<command>", required=True)
    _add_new(commands)
    _add_check(commands)
    _add_try(commands)
    _add_run(commands)
    _add_compare(commands)
    _add_adopt(commands)
    _add_options(commands)
    _add_schema(commands)
    _add_completion(commands)
    return top


def _add_new(commands):
    text = "write a commented study file to start from"
    new = commands.add_parser("new", help=text, description=text.capitalize() + ".")
    new.add_argument(
        "path", help="the file to write, such as config/mine.yaml; an existing one is left alone"
    )
    new.add_argument("--chemistry", choices=CHEMISTRIES, default="lfp", help="of the bank (default lfp)")
    new.add_argument(
        "--latitude",
        type=_degrees,
        metavar="DEG",
        help="north positive; asked for on a terminal (default 47)",
    )
    new.add_argument(
        "--longitude", type=_degrees, metavar="DEG", help="east positive; asked for on a terminal (default 8)"
    )
    new.set_defaults(do=_new)


def _add_check(commands):
    text = "find faults, and work the study out by hand"
    check = commands.add_parser("check", help=text, description=text.capitalize() + ".")
    check.add_argument("studies", nargs="+", metavar="study", help="study files")
    check.add_argument("--json", action="store_true", help="the same as a JSON list, for machines")
    check.add_argument("--drawn", action="store_true", help="also draw years of loads beside their budget")
    check.set_defaults(do=_check)


def _add_try(commands):
    text = "simulate a study at once, and a change of it on the same draws; writes nothing"
    one = commands.add_parser("try", help=text, description=text.capitalize() + ".")
    one.add_argument("study", help="study file")
    one.add_argument(
        "changes", nargs="*", metavar="key=value", help="such as bank.capacity_ah=300 loads.fridge.watts=30"
    )
    one.add_argument(
        "--members", type=_count, metavar="N", help="synthetic years, in place of the study's number"
    )
    one.add_argument("--json", action="store_true", help="the same as a JSON object, for machines")
    one.add_argument("--size", action="store_true", help="also search the sizes of array and bank")
    one.add_argument("--watch", action="store_true", help="run again each time the file is saved")
    one.set_defaults(do=_try)


def _add_run(commands):
    text = "simulate studies; results go to results/<study>/"
    run = commands.add_parser("run", help=text, description=text.capitalize() + ".")
    run.add_argument("studies", nargs="+", metavar="study", help="study files")
    run.add_argument("--cores", type=_count, metavar="N", help="cores to use (default: all)")
    run.add_argument(
        "--members", type=_count, metavar="N", help="synthetic years, in place of the study's number"
    )
    run.add_argument("--force", action="store_true", help="compute everything again, changed or not")
    run.add_argument(
        "--until", choices=("numbers", "figures", "proposal"), default="proposal",
        help="how far to go (default proposal)",
    )  # fmt: skip
    run.add_argument("--json", action="store_true", help="answer as a JSON list, for machines")
    run.set_defaults(do=_run)


def _add_compare(commands):
    text = "hold a monitor's log against a study: owner, weather or fault"
    compare = commands.add_parser("compare", help=text, description=text.capitalize() + ".")
    compare.add_argument("study", help="study file; its section log: says how to read the log")
    compare.add_argument("logs", nargs="+", metavar="log", help="logs as CSV files")
    compare.add_argument("--json", action="store_true", help="answer as a JSON list, for machines")
    compare.set_defaults(do=_compare)


def _add_adopt(commands):
    text = "write a copy of a study with the recommended design"
    adopt = commands.add_parser("adopt", help=text, description=text.capitalize() + ".")
    adopt.add_argument("study", help="study file, run before")
    adopt.add_argument(
        "--results", default="results", metavar="FOLDER", help="folder of the results (default results)"
    )
    adopt.add_argument(
        "--out", metavar="FILE", help="file to write (default: the study's name with _recommended)"
    )
    adopt.set_defaults(do=_adopt)


def _add_options(commands):
    text = "run studies, then put them side by side in results/options/proposal.html"
    options = commands.add_parser("options", help=text, description=text.capitalize() + ".")
    options.add_argument("studies", nargs="+", metavar="study", help="two to 26 studies")
    options.add_argument("--cores", type=_count, metavar="N", help="cores to use (default: all)")
    options.add_argument(
        "--members", type=_count, metavar="N", help="synthetic years, in place of the studies' number"
    )
    options.set_defaults(do=_options)


def _add_schema(commands):
    text = "write the JSON Schema of study files, with which editors complete and check them"
    schema = commands.add_parser("schema", help=text, description=text.capitalize() + ".")
    schema.add_argument("path", nargs="?", help="file to write; printed if not given")
    schema.set_defaults(do=_schema)


def _add_completion(commands):
    text = 'print the completion of commands for a shell: eval "$(darkspell completion bash)"'
    completion = commands.add_parser("completion", help=text, description=text + ".")
    completion.add_argument("shell", choices=("bash", "zsh", "fish"))
    completion.set_defaults(do=_completion)


def _degrees(word):
    try:
        return float(word.strip().replace("\u2212", "-").replace(",", "."))
    except ValueError:
        cure = "give decimal degrees, such as 60.2; south and west are negative"
        raise argparse.ArgumentTypeError(f"{word!r} is no number; {cure}") from None


def _count(word):
    if not word.isdecimal() or not 1 <= int(word) <= 100_000:
        raise argparse.ArgumentTypeError(f"{word!r} is not possible; give a whole number from 1 to 100000")
    return int(word)


def _new(asked):
    from darkspell.cli.new import new

    return new(asked.path, asked.chemistry, asked.latitude, asked.longitude)


def _check(asked):
    from darkspell.cli.check import check

    return check(asked.studies, asked.json, asked.drawn)


def _try(asked):
    from darkspell.cli.try_study import try_study

    return try_study(asked.study, asked.changes, asked.members, asked.json, asked.watch, asked.size)


def _run(asked):
    from darkspell.cli.run import run

    return run(asked.studies, asked.cores, asked.members, asked.force, asked.until, asked.json)


def _compare(asked):
    from darkspell.cli.compare import compare

    return compare(asked.study, asked.logs, asked.json)


def _adopt(asked):
    from darkspell.cli.adopt import adopt

    return adopt(asked.study, asked.results, asked.out)


def _options(asked):
    from darkspell.cli.run import run

    return run(asked.studies, asked.cores, asked.members, until="options")


def _schema(asked):
    from darkspell.core.atomic_files import write_text
    from darkspell.study.json_schema import schema_text

    if not asked.path:
        print(schema_text(), end="")
        return 0
    write_text(asked.path, schema_text())
    print(f"{asked.path} is written. First line of a study: # yaml-language-server: $schema={asked.path}")
    return 0


def _completion(asked):
    from darkspell.cli.completion import script

    print(script(parser(), asked.shell), end="")
    return 0


if __name__ == "__main__":
    sys.exit(main())
