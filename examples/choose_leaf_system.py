"""Choose a solvent for the pigments of a leaf: the order, how sure it is, and what to try next; prints, writes nothing.

The readings beside this script are invented: no such leaf, plates or benches exist.
"""

from pathlib import Path

import lanewise

READINGS = Path(__file__).with_name("leaf_systems.csv")


def main() -> None:
    study = lanewise.read(READINGS)
    found = lanewise.measure(lanewise.to_frame(study), level=0.95)
    short = {system.name: f"system {letter}" for system, letter in zip(study.systems, "ABCD", strict=True)}

    print("Systems")
    for name, letter in short.items():
        print(f"  {letter}: {name}")

    print("\nWhich to choose")
    ranked = lanewise.rank_systems(found)
    for sentence in lanewise.ranking_sentences(ranked, short):
        print(f"  {sentence}")

    print("\nWhat each leaves together")
    for row in ranked.dye_pairs[ranked.dye_pairs["finding"] != "separated"].itertuples():
        ends = f"{row.rs_low:.2f} to {row.rs_high:.2f}"
        print(f"  {short[row.system]}: {row.dye_a} and {row.dye_b}, Rs {row.rs:.2f} ({ends})")

    print("\nWhat to try next")
    predicted = lanewise.predict_rf(found, lanewise.composition_table(study), at={"acetone": [0.25]})
    for sentence in lanewise.prediction_sentences(predicted):
        print(f"  {sentence}")
    for row in predicted.points.itertuples():
        print(f"  {row.dye} at a fraction of {row.at:.2f}: Rf {row.rf:.2f} ({row.rf_low:.2f} to {row.rf_high:.2f})")


if __name__ == "__main__":
    main()
