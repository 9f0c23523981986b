"""From a table of marks to a report: Rf with uncertainty, and which solvent system moves which dye farther."""

from pathlib import Path

import lanewise

study = lanewise.read(Path(__file__).with_name("writing_inks.csv"))
found = lanewise.measure(lanewise.to_frame(study))
print(found.spots[["plate", "lane", "sample", "rf", "u_rf"]].head(8).round(3).to_string(index=False))
compared = lanewise.compare(found)
for sentence in lanewise.comparison_sentences(compared):
    print(sentence)
page = lanewise.render(lanewise.study_report(study, title="Writing inks"), "html")
for path in lanewise.write("report.html", page):
    print(f"Wrote {path}")
