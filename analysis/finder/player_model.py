"""Player's model: Gaussian process regression on the errors of the bare tube."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from analysis.acoustics import CALIBRATION_TEMPERATURE_C, RESONANCE_COUNT
from analysis.day import WARMING_CENTS_PER_C
from analysis.finder.caching import FinderCache
from analysis.finder.coverage import find_stretch
from analysis.finder.gaussian_process import Estimate, FittedProcess, fit_process
from analysis.finder.hyperparameters import Residuals
from analysis.finder.inputs import LoggedPitch
from analysis.finder.kernel import (
    Described,
    describe,
    describe_quickly,
    find_is_high,
    list_groups,
)
from analysis.finder.results import ErrorReduction, Prediction, RegisterPrediction
from analysis.finder.speaking_chance import (
    SpeakingPrior,
    find_speaking_chances,
    find_speaking_prior,
    fit_log_odds,
)
from analysis.finder.spots import Bits, Numbers, Real, Spots
from analysis.finder.tube import Tube
from analysis.keywork import KeyStates, Layout, State
from analysis.pitch import KINDS, Register, WrittenPitch, register_bounds, register_of

# No measurement is trusted further: a player's notes differ by more from day to day.
_LEAST_SIGMA_CENTS = 1.5
# A logged pitch further than this from any resonance tells nothing about one: another register,
# a slip of the pen, a multiphonic.
_FAR_CENTS = 150.0
_FEWEST_TO_JUDGE = 3
# Sigma before anything was logged, over what the scales say: the altissimo was doubted a little
# more than simulated players bear out.
_STRETCH = np.array([0.9 if one is Register.ALTISSIMO else 1.0 for one in Register])
_CHALUMEAU_BEGINS = WrittenPitch.from_canonical("E3")
_SHARED = FinderCache()


@dataclass(frozen=True)
class PlayerModel:
    """Predicts where fingerings sound on one instrument, and how surely.

    Made by `fit`. Offsets are cents from a written pitch in the notation of the kind.
    """

    tube: Tube
    logs: tuple[LoggedPitch, ...]
    spots: Spots
    learned: FittedProcess
    learned_high: FittedProcess
    votes: tuple[Bits, Numbers, Real]
    tried_spots: Spots

    @classmethod
    def fit(
        cls,
        kind_id: str,
        layout: Layout,
        logs: Sequence[LoggedPitch],
        *,
        temperature_c: float = CALIBRATION_TEMPERATURE_C,
        air_c: float | None = None,
        warming_cents_per_c: float = WARMING_CENTS_PER_C,
        cache: FinderCache | None = None,
        is_screened: bool = True,
    ) -> PlayerModel:
        """Fit the model to what was measured on one instrument.

        A Gaussian process on top of the tube (see `kernel`, `hyperparameters`, `gaussian_process`).
        Repeated measurements of the same holes on the same resonance are pooled.

        Args:
            kind_id: an id of `analysis.pitch.KINDS`.
            layout: the keywork; all logged fingerings must be of it.
            logs: measured pitches, and fingerings that did not speak (offset None). Those
                more than 150 cents from any resonance of the tube are left aside.
            temperature_c: of the air inside, 0 to 45.
            air_c: of the room for which is predicted; None for one like those measured in.
            warming_cents_per_c: how far a warmer room raises this instrument.
            cache: keeps screenings; without one they are kept in memory.
            is_screened: False for a model that is asked for a few fingerings only: nothing is
                screened, and each is computed exactly.

        Raises:
            FinderUnavailable: nothing is known of this tube; says which are known.

        Limits: the tube is plausible, not measured; with no logs errors of 10 to 35 cents are
        usual. It can't tell for certain what speaks.

        >>> from analysis.keywork import load_layout, parse_fingering
        >>> soprano = load_layout("soprano-17-6")
        >>> model = PlayerModel.fit("b-flat-soprano", soprano, [])
        >>> g5 = parse_fingering("T R 123 | ---", soprano)
        >>> abs(model.predict(g5, WrittenPitch.from_canonical("G5")).offset_cents) < 10
        True
        """
        tube = Tube.load(
            kind_id,
            layout,
            temperature_c=temperature_c,
            cache=cache or _SHARED,
            is_screened=is_screened,
        )
        return cls.fit_tube(tube, logs, air_c=air_c, warming_cents_per_c=warming_cents_per_c)

    @classmethod
    def fit_tube(
        cls,
        tube: Tube,
        logs: Sequence[LoggedPitch],
        *,
        air_c: float | None = None,
        warming_cents_per_c: float = WARMING_CENTS_PER_C,
    ) -> PlayerModel:
        """Fit the model on a tube that is loaded already; see `fit`."""
        warming = find_warming(logs, air_c, warming_cents_per_c)
        spots, cents, sigmas = _read_logs(tube, logs, warming)
        spoke = np.isfinite(cents)
        known, residuals = _pool(tube, spots.select(spoke), cents[spoke], sigmas[spoke])
        # a cut posterior: the altissimo learns from all, the rest nothing from the altissimo
        high = fit_process(residuals)
        low = np.flatnonzero(~find_is_high(known))
        is_alike = len(low) == len(known)
        return cls(
            tube=tube,
            logs=tuple(logs),
            spots=known,
            learned=high if is_alike else fit_process(residuals.select(low)),
            learned_high=high,
            votes=(spots.holes, spots.numbers, spoke.astype(np.float64)),
            tried_spots=spots,
        )

    @property
    def log_count(self) -> int:
        """How many logged pitches it was given."""
        return len(self.logs)

    def find_treble_cents(self, written: WrittenPitch) -> float:
        """Find the height of a written pitch in treble notation, in which the tube counts."""
        return float(written.cents) + self.tube.treble_shift_cents

    def predict(self, fingering: KeyStates, written: WrittenPitch) -> Prediction:
        """Predict where a fingering sounds, by the resonance nearest to a written pitch.

        Returns:
            Its offset from `written`, sigma for one further playing, chance of speaking. Far
            from any resonance the offset is large, and no note to play.
        """
        wanted = self.find_treble_cents(written)
        holes = self._find_holes(fingering)
        spots = self.tube.find_nearest(holes, np.array([wanted]))
        estimate = self.estimate(spots)
        return Prediction(
            offset_cents=float(estimate.mean[0]) - wanted,
            sigma_cents=float(np.sqrt(estimate.variance[0])),
            speaks_chance=float(self.find_speaking(spots)[0]),
        )

    def predict_registers(self, fingering: KeyStates) -> tuple[RegisterPrediction, ...]:
        """Predict every register that a fingering may sound in, from low to high.

        Each is given as an offset from the nearest note of the equal-tempered scale, in the
        register that this note lies in. With a register key down its first resonance counts in the
        throat only.
        """
        holes = np.repeat(self._find_holes(fingering), RESONANCE_COUNT)
        spots = self.tube.locate(holes, np.arange(1, RESONANCE_COUNT + 1))
        spots = spots.select(np.isfinite(spots.cents))
        if any(fingering.state(key.id) is not State.UP for key in self.tube.vent_keys):
            throat = float(register_bounds(Register.THROAT)[0])
            spots = spots.select((spots.numbers > 1) | (spots.cents >= throat - 50.0))
        estimate = self.estimate(spots)
        return tuple(
            self._describe(float(mean), float(np.sqrt(variance)))
            for mean, variance in zip(*estimate, strict=True)
        )

    def _describe(self, cents: float, sigma_cents: float) -> RegisterPrediction:
        nearest = round(cents / 100.0) * 100
        kind = KINDS[self.tube.kind_id]
        written = WrittenPitch.from_cents(nearest)
        register = register_of(written)
        if register is Register.EXTENSION and self.tube.layout.lowest >= _CHALUMEAU_BEGINS:
            register = Register.CHALUMEAU  # a note pulled down, on a clarinet without extension
        return RegisterPrediction(
            register=register,
            written=kind.from_treble_notation(written),
            offset_cents=cents - nearest,
            sigma_cents=sigma_cents,
        )

    def _find_holes(self, fingering: KeyStates) -> Bits:
        keys = np.array([self.tube.linkage.encode(fingering)], dtype=np.uint64)
        return self.tube.linkage.find_holes(keys)

    @property
    def tried(self) -> list[int]:
        """The names of all spots that were logged, those that did not speak included."""
        return self.tried_spots.names

    @cached_property
    def _known(self) -> dict[int, tuple[float, float]]:
        estimate = self.learned_high.estimate_known()
        mean, variance = np.array(estimate.mean), np.array(estimate.variance)
        low = np.flatnonzero(~find_is_high(self.spots))
        mean[low], variance[low] = self.learned.estimate_known()
        pairs = zip(mean.tolist(), variance.tolist(), strict=True)
        return dict(zip(self.spots.names, pairs, strict=True))

    @cached_property
    def _stretch(self) -> Real:
        """How much wider than stated the errors are in each register, each note left out.

        What is off in the altissimo says nothing of the rest.
        """
        left_out, own, noise = self._leave_out()
        errors = np.abs(self.learned_high.residuals.cents - left_out.mean)
        errors /= np.sqrt(left_out.variance + own + noise)
        is_low, registers = ~find_is_high(self.spots), self.spots.registers
        stretch = find_stretch(errors[is_low], registers[is_low], _STRETCH)
        high = np.unique(registers[~is_low])
        stretch[high] = find_stretch(errors, registers, _STRETCH)[high]
        return stretch

    def _leave_out(self) -> tuple[Estimate, Real, Real]:
        """Estimate every residual from the others: the shared part, own variance, noise."""
        residuals = self.learned_high.residuals
        made = self.learned_high.estimate_left_out()
        mean, variance = np.array(made.mean), np.array(made.variance)
        own = np.array(self.learned_high.own_variance)
        low = np.flatnonzero(~find_is_high(self.spots))
        mean[low], variance[low] = self.learned.estimate_left_out()
        own[low] = self.learned.own_variance
        return Estimate(mean, variance), own, residuals.noise

    def estimate(self, spots: Spots) -> Estimate:
        """Estimate where spots sound: written cents in treble notation, for one more playing."""
        described = describe(self.tube, spots)
        mean, variance = self._estimate_with(self.learned, described)
        is_high = find_is_high(spots)
        if is_high.any():
            high = self._estimate_with(self.learned_high, described)
            mean = np.where(is_high, high.mean, mean)
            variance = np.where(is_high, high.variance, variance)
        variance = variance * self._stretch[spots.registers] ** 2
        for place, name in enumerate(spots.names):
            if name in self._known:
                mean[place], variance[place] = self._known[name]
        return Estimate(spots.cents - self.tube.anchors.find_errors(spots) + mean, variance)

    def _estimate_with(self, learned: FittedProcess, described: Described) -> Estimate:
        shared = learned.estimate(described.features)
        return Estimate(
            shared.mean, shared.variance + learned.hyperparameters.find_own(described.own)
        )

    def guess(self, spots: Spots) -> Real:
        """Guess where spots sound, without the measures of the tube, which take long, shape (n,).

        Written cents in treble notation, as `estimate` gives them.
        """
        features = describe_quickly(self.tube, spots)
        count = features.shape[1]
        low, high = (one.weights[:count] for one in (self.learned, self.learned_high))
        mean = np.where(find_is_high(spots), features @ high, features @ low)
        return np.asarray(spots.cents - self.tube.anchors.find_errors(spots) + mean)

    def find_shared(self, spots: Spots) -> Real:
        """Find what one standard deviation of each shared unknown does to spots, (n, unknowns)."""
        features = describe(self.tube, spots).features
        is_high = find_is_high(spots)[:, np.newaxis]
        low = np.where(is_high, 0.0, features @ self.learned.root)
        high = np.where(is_high, features @ self.learned_high.root, 0.0)
        return np.hstack([low, high]) * self._stretch[spots.registers][:, np.newaxis]

    def find_speaking(self, spots: Spots) -> Real:
        """Find the chance of each spot to speak."""
        prior = self._find_speaking_prior(spots)
        return find_speaking_chances(spots, prior, self._speaking_log_odds, self.votes)

    @cached_property
    def _speaking_log_odds(self) -> Real:
        """How much more easily this player's fingerings speak than is thought beforehand, (2,)."""
        return fit_log_odds(self._find_speaking_prior(self.tried_spots), self.votes[2])

    def _find_speaking_prior(self, spots: Spots) -> SpeakingPrior:
        bases, _ = self.tube.find_bases(spots)
        base_heights = self.tube.find_heights(self.tube.ordinary)[bases]
        return find_speaking_prior(
            self.tube.find_heights(spots) / base_heights,
            self.tube.find_wild(spots),
            np.bitwise_count(spots.holes ^ self.tube.ordinary.holes[bases]),
        )

    @property
    def gain(self) -> ErrorReduction:
        """Say what the logged pitches gained, each predicted from all the others."""
        cents = self.learned_high.residuals.cents
        if len(cents) < _FEWEST_TO_JUDGE:
            words = f"{len(cents)} measured; from {_FEWEST_TO_JUDGE} on the gain can be judged."
            return ErrorReduction(self.log_count, None, None, words)
        tube_cents = float(np.median(np.abs(cents)))
        left_out = cents - self._leave_out()[0].mean
        learned_cents = float(np.median(np.abs(left_out)))
        words = (
            f"From {len(cents)} measured fingerings: the typical error went from "
            f"{tube_cents:.0f} to {learned_cents:.0f} cents, each predicted from all the others."
        )
        return ErrorReduction(self.log_count, tube_cents, learned_cents, words)


def find_warming(
    logs: Sequence[LoggedPitch],
    air_c: float | None,
    warming_cents_per_c: float = WARMING_CENTS_PER_C,
) -> Real:
    """Find how much higher each logged pitch would sound in the air of today, in cents.

    Those of unknown temperature count as measured at the mean of the others; where none is known
    nothing changes. A blown clarinet follows the room by less than free air does (`analysis.day`).

    >>> from analysis.keywork import load_layout, ordinary_fingerings
    >>> one = ordinary_fingerings(load_layout("soprano-17-6"))[0]
    >>> log = LoggedPitch(one.fingering, one.written, 0.0, 1.0, air_c=18.0)
    >>> find_warming([log], 22.0).tolist()
    [6.0]
    """
    known = [log.air_c for log in logs if log.air_c is not None]
    if not known:
        return np.zeros(len(logs))
    mean = float(np.mean(known))
    then = np.array([mean if log.air_c is None else log.air_c for log in logs])
    today = mean if air_c is None else air_c
    return np.asarray(warming_cents_per_c * (today - then))


def _read_logs(tube: Tube, logs: Sequence[LoggedPitch], warming: Real) -> tuple[Spots, Real, Real]:
    """Find the spots of logged pitches; cents are not-a-number for what did not speak."""
    keys = np.array([tube.linkage.encode(log.fingering) for log in logs], dtype=np.uint64)
    shift = tube.treble_shift_cents
    wanted = np.array([float(log.written.cents) + shift for log in logs], dtype=np.float64)
    offsets = np.array(
        [np.nan if log.offset_cents is None else log.offset_cents for log in logs],
        dtype=np.float64,
    )
    sigmas = np.array([log.sigma_cents for log in logs], dtype=np.float64)
    sounded = wanted + offsets + warming
    spots = tube.find_nearest(
        tube.linkage.find_holes(keys), np.where(np.isnan(sounded), wanted, sounded)
    )
    usable = np.isfinite(spots.cents) & ~(np.abs(spots.cents - sounded) > _FAR_CENTS)
    return spots.select(usable), sounded[usable], sigmas[usable]


def _pool(tube: Tube, spots: Spots, cents: Real, sigmas: Real) -> tuple[Spots, Residuals]:
    """Pool repeated measurements of one spot, each weighed by its variance."""
    _, first, group = np.unique(spots.codes, return_index=True, return_inverse=True)
    weight = np.maximum(sigmas, _LEAST_SIGMA_CENTS) ** -2.0
    total = np.bincount(group, weight, minlength=len(first))
    expected = spots.cents - tube.anchors.find_errors(spots)
    mean = np.bincount(group, weight * (cents - expected), minlength=len(first)) / total
    known = spots.select(first)
    features, own = describe(tube, known)
    groups = list_groups(features.shape[1])
    return known, Residuals(features, groups, mean, 1.0 / total, own)
