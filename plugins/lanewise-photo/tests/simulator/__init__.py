"""Photographs and scans of developed sheets, made from physics, with known truth.

    >>> from simulator import make
    >>> picture = make("phone", 3, megapixels=0.5)
    >>> data, spots = picture.bytes(), picture.truth.spots

Independent of any reader: it imports nothing of the library or the plugin, and no reader may import it. Everything in
it is invented: the inks, the amounts, the handwriting. From the sheet to the file:

========================  =============================================================================================
`draw`, `sheet`           what a person did: lanes, pencil lines, drops that miss the line, a front that waves
`spotting`, `spots`       what the solvent did: spots by convolution on a grid, and what is true of each
`colour`, `mixing`        nine bands of light; four models of dye and layer, one drawn for each picture
`texture`, `marks`        fibres, grain, pencil, stains; `writing` for names of lanes and printed text
`surface`, `views`        a sheet that bulges or is creased, a camera with a lens, a scanner with an uneven carriage
`desk`, `paint`           what lies below, light and shadow; pixel by pixel at its place on the sheet, never by warping
`sensor`, `files`         blur, noise, tone, sharpening, smoothing; JPEG, PNG, TIFF, what a camera notes
`faults`, `things`        34 things that go wrong; `after` for what is done to a finished picture
========================  =============================================================================================

Not in it: real spectra of dyes, lamps and sensors; rings and split spots; ghosting and bleeding between lanes; folds
with overlap; coloured reflections from the desk; demosaicing and a maker's own quantisation tables; HEIC; wide-gamut
profiles; moire; dust under a scanner's glass. Sizes of paper texture and raggedness are guesses, to be replaced by
measurements of blank sheets. What a reader reaches here is a ceiling for real photographs.
"""

from __future__ import annotations

from simulator.faults import FAULTS
from simulator.picture import KINDS, Picture, make
from simulator.truth import LaneTruth, SpotTruth, Truth

__all__ = ["FAULTS", "KINDS", "LaneTruth", "Picture", "SpotTruth", "Truth", "make"]
