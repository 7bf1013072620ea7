"""python -m sample_inputs.generator [--into DIR]: writes uploads and truth of the sample study."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path

from sample_inputs.generator.study import generate

HERE = Path(__file__).parents[1]


def write_study(folder: Path) -> int:
    """Writes the study into `folder`, its hand-written settings too; gives the number of files."""
    made = generate()
    for old in ("uploads", "truth"):
        shutil.rmtree(folder / old, ignore_errors=True)
    for path, content in made.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    if folder.resolve() != HERE:
        shutil.copy(HERE / "study.toml", folder)
        shutil.copytree(HERE / "crosswalks", folder / "crosswalks", dirs_exist_ok=True)
    return len(made)


def main() -> None:
    parser = argparse.ArgumentParser(description="Writes the sample study.")
    parser.add_argument("--into", type=Path, default=HERE, help="folder (default: sample_inputs)")
    folder = parser.parse_args().into
    print(f"{write_study(folder)} files written below {folder}")


if __name__ == "__main__":
    main()
