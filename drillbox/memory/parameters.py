"""The numbers the memory model starts from, each with where it comes from.

Units: tempo in octaves (log2 of beats a minute), time in days. An *assumption* is a choice of ours,
to be replaced by what the player's own log says once there is enough of it.
"""

from __future__ import annotations

from dataclasses import dataclass

MODEL_VERSION = "7"
"""Changes whenever the same log would give other beliefs.

A cached belief of another version is void.
"""
LEARNED = ("gain", "boost", "sigma")
"""What is learned of a player: fading and the growth of stability are left out.

On logs of some months they trade off against the gain, and on the benchmark learning them too lost
more than it won.
"""


@dataclass(frozen=True, slots=True)
class Parameters:
    """What the model holds true of one player.

    Parameters
    ----------
    lam
        Octaves of cold tempo lost each time the wait (in stabilities) doubles. Assumption, from a
        prototype: 0.055, i.e. 3.7 % of the tempo.
    sigma
        Noise of one graded take. Assumption: 0.08 octave (5.7 %), a little above the +/- 2.5 bpm
        that the grade itself rounds away at 90 bpm.
    measured
        Share of the variance `sigma ** 2` that is left where the grade was measured: 0.65. The rest
        is the player's judging, which is poor (players' own marks were far from experts' in
        studies of schoolchildren and of undergraduates, Bergee & Cecconi-Roberts, abstract); the
        number is an assumption.
    growth
        Stability gained, in days for each day of a gap that was survived. Assumption, from the
        same prototype: 1.0, which makes survived gaps about double, as in expanding practice
        (Kang, Lindsey, Mozer & Pashler 2014).
    growth_doubt
        Share of a growth step by which its true size may differ (one standard deviation).
        Assumption.
    shrink
        Share of the stability that is left after a cold take fell apart at a tempo it should have
        come off at. Assumption.
    gain
        Octaves the first take adds to the peak cold tempo when it is played near the edge: 0.08.
        The same day's next take adds `fatigue` times as much (Lee & Genovese 1988: massed practice
        depresses retention). Assumption.
    practice
        Takes after which a take adds half of what the first one did: 5. The sum of such gains grows
        like a logarithm, the power law of practice of Newell & Rosenbloom (1981). The number is an
        assumption.
    fatigue
        See `gain`. Assumption.
    edge
        Half-width, in octaves, of the range of tempi around the right one that teaches well; the
        idea is Guadagnoli & Lee's challenge point (2004), the width an assumption.
    boost
        How much higher the right tempo is once warm. Sized after the warm-up decrement (Adams 1961;
        a few takes); 0.04 octave is an assumption.
    warm_noise
        Added noise of a warm take as a witness of the cold tempo. Assumption.
    apart, joining
        Chance that a pattern never played is one that must come together first, and the chance
        that one more take brings it together. All at once, at a constant chance: the one-element
        model of Bower (Psychometrika 26:255-280, 1961). The numbers are assumptions.
    level_sd
        What is not known of the player's level, in octaves: as much as steadily remains if it
        walks about 0.012 octave a day of fifteen takes. Assumption.
    idle_var
        Variance of the cold tempo that a day without the card adds: 1e-4 octave squared.
        Assumption.
    first_bpm, first_sd
        Prior of a card's first tempo when nothing is known. Assumption.
    first_days, first_days_sd
        Prior of stability: one day (the first return is the next day), and the standard deviation
        of its natural logarithm. Assumption.
    wild_share
        Share of takes that tell of something else than the card (a wrong key, a bad day, a new
        instrument). Assumption.
    wild_noise, wild_jump
        In such a take: its noise, and how far the card itself may have moved, in octaves.
        Assumption.
    """

    lam: float = 0.055
    sigma: float = 0.08
    measured: float = 0.65
    growth: float = 1.0
    growth_doubt: float = 0.3
    shrink: float = 0.6
    gain: float = 0.08
    practice: float = 5.0
    fatigue: float = 0.6
    edge: float = 0.25
    boost: float = 0.04
    warm_noise: float = 0.06
    apart: float = 0.5
    joining: float = 0.25
    level_sd: float = 0.018
    idle_var: float = 1e-4
    first_bpm: float = 72.0
    first_sd: float = 0.4
    first_days: float = 1.0
    first_days_sd: float = 0.7
    wild_share: float = 0.02
    wild_noise: float = 0.5
    wild_jump: float = 0.2
