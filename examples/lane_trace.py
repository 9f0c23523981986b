"""From the trace of a lane to a report: spots found and fitted, Rf with uncertainty. The trace is made up here."""

import numpy as np

import lanewise
from lanewise.traces import emg, find_peaks, fit_peaks, gaussian

# A lane of a green ink as a scanner would see it: two dyes, the slower one with a tail, on uneven paper (invented).
positions = np.linspace(0.0, 100.0, 501)
paper = 0.04 + 0.01 * np.sin(positions / 25.0)
dyes = emg(positions, area=0.9, mu=38.0, sigma=1.4, tau=1.8) + gaussian(positions, 0.20, 64.0, 1.9)
signal = paper + dyes + np.random.default_rng(7).normal(0.0, 0.002, len(positions))

# Arrays in, arrays out: what the trace shows, and a curve through it.
peaks = find_peaks(positions, signal)
fit = fit_peaks(positions, signal, peaks)
for apex, u, area, tailed in zip(fit.apex, fit.u_apex, fit.area, fit.tailed, strict=True):
    print(f"darkest at {apex:.2f} mm (u {u:.2f} mm), area {area:.2f}, {'with a' if tailed else 'no'} tail")

# The same as spots of the record, between the two lines of the sheet.
trace = lanewise.Trace(channel="optical density", positions=positions.tolist(), values=signal.tolist())
spots = lanewise.spots_of_trace(trace, origin=10.0, front=85.0)
lane = lanewise.Lane(label="A", sample="green pen", spots=spots, traces=[trace])
plate = lanewise.Plate(label="1", system="water", origin=10.0, front=85.0, u_origin=0.1, u_front=0.1, lanes=[lane])
study = lanewise.Study(title="A green ink, scanned (invented)", plates=[plate])

found = lanewise.measure(lanewise.to_frame(study))
print(found.spots[["spot", "rf", "u_rf", "rf_low", "rf_high"]].round(4).to_string(index=False))
print(lanewise.save(study, "green_ink.json"))
