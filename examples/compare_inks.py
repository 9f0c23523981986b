"""Compare two solvent systems on the same inks, and say what the readings can carry; prints, writes nothing.

The readings beside this script are invented: no such inks, plates or benches exist.
"""

from pathlib import Path

import lanewise

READINGS = Path(__file__).with_name("writing_inks.csv")


def main() -> None:
    study = lanewise.read(READINGS)
    found = lanewise.measure(lanewise.to_frame(study), level=0.95)
    short = {system.name: f"system {letter}" for system, letter in zip(study.systems, "AB", strict=True)}

    print("Systems")
    for name, letter in short.items():
        print(f"  {letter}: {name}")

    print("\nWhat moves farther where")
    compared = lanewise.compare(found)
    for sentence in lanewise.comparison_sentences(compared, short):
        print(f"  {sentence}")

    print("\nThe worst separated neighbours of each lane, where Rs is below 1.5")
    worst = lanewise.separations(found).worst
    for row in worst[worst["rs"] < 1.5].itertuples():
        ends = f"{row.rs_low:.1f} to {row.rs_high:.1f}"
        spots = f"{row.sample}, spots {row.spot_a} and {row.spot_b}"
        print(f"  {row.plate}, {spots}: Rs {row.rs:.1f} ({ends}), {row.verdict}")

    print("\nSpots of which less can be said")
    for sentence in lanewise.limits(found).sentences:
        print(f"  {sentence}")


if __name__ == "__main__":
    main()
