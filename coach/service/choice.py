"""What the next pass will be: the settings, and the solos of the tune that is chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from msgspec import structs

from coach.arranging.arrangement import TIERS, Tier
from coach.arranging.edits import Edits
from coach.errors import ArrangeError, CoachError, InputError
from coach.ladder.rungs import Course, Kind
from coach.listening.free_ear import FreeEar
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.service.accompany import lead_of, played_along
from coach.service.courses import course_of
from coach.service.held import Aside, own_of, ruled
from coach.service.jobs import Solo
from coach.service.midi_out import TimedMidi
from coach.service.orders import Order
from coach.service.pages import Page
from coach.service.pieces import Piece, next_tier, with_repeats
from coach.service.protocol import Rung, Settings
from coach.service.settings import Chosen, changed, fitted
from coach.service.shelf import Shelf
from coach.service.writing import Fetch, Make, Solos, pass_over, progress
from coach.studio.rules import Rules
from coach.takes.grid import click_tempo
from coach.takes.sessions import Instrument

__all__ = ["Choice"]

_KEPT = 8  # mixed solos and solos for a jam


class Choice:
    """The choice of a session.

    A solo that is not there yet is *awaited*: it is written by a worker, ``waiting`` says so, and ``arrived`` is
    called when it has come, or with the reason why it does not. Where it was a mixed solo or one for a jam, the
    settings go back to the tier's own solo then.

    Args:
        fetch: asks for the solos of a tune.
        make: asks for a mixed solo or one for a jam.
        edits_of: gives the edits of a tune that hold now.
        arrived: called when what was awaited has come, or with the reason why it does not come.
        rules_of: gives what a teacher has set for a tune; it holds over the player's own settings.

    Attributes:
        chosen: the settings.
        rules_of: as it was given.
        at_hand: the tune that the player chose; a rung may be of another one.
        solos: of the tune that is chosen, by tier; those that are written.
        waiting: what is waited for, or why there is no solo, in words.
    """

    def __init__(
        self,
        fetch: Fetch,
        make: Make,
        edits_of: Callable[[str], Edits | None],
        arrived: Callable[[CoachError | None], None],
        rules_of: Callable[[str], Rules | None] = lambda _: None,
    ) -> None:
        self.chosen = Chosen()
        self.rules_of = rules_of
        self._aside: Aside = {}
        self.at_hand = ""
        self.solos: Solos = {}
        self.waiting = ""
        self._fetch = fetch
        self._make = make
        self._edits_of = edits_of
        self._arrived = arrived
        self._made: Shelf[Piece, Solo] = Shelf(_KEPT)
        self._impossible: set[Piece] = set()
        self._edits: Edits | None = None  # that the solos are made with
        self._is_whole = False
        self._asked: object | None = None  # of all solos that were asked for the last are waited for
        self._awaited: Piece | None = None
        self._use: Kind | None = None

    @property
    def piece(self) -> Piece:
        """Which solo is chosen, with the edits that it is made with."""
        return self.chosen.piece.edited(self._edits)

    @property
    def own(self) -> Chosen:
        """The player's own settings, without what a teacher has set for the tune."""
        return own_of(self.chosen, self._aside)

    def put(self, **own: object) -> None:
        """Put own settings in place of those that are there, by their names."""
        self._rule(replace(self.own, **own))  # type: ignore[arg-type]

    def rule(self) -> bool:
        """Have what a teacher has set hold as it is now; tells whether that changed anything."""
        before = self.chosen
        self._rule(self.own)
        return self.chosen != before

    def _rule(self, own: Chosen) -> None:
        self.chosen, self._aside = ruled(own, self.rules_of(own.tune))

    @property
    def solo(self) -> Solo | None:
        """The solo that is chosen; None while it is being written."""
        piece = self.piece
        if piece.is_plain:
            return self.solos.get(piece.tier)
        return self._made.get(piece) if self._is_whole else None

    @property
    def is_awaited(self) -> bool:
        """Whether the solo that is chosen, or one that the ladder needs, is being written."""
        return self._asked is not None or self._awaited is not None

    @property
    def has_solos(self) -> bool:
        """Whether the tune that is chosen has solos, or they are being written."""
        return bool(self.solos) or self._asked is not None

    @property
    def course(self) -> Course | None:
        """The tune that is chosen as the ladder sees it; None while its solos are being written."""
        if not self._is_whole:
            return None
        return course_of(
            self.chosen.tune, self.solos, [piece for piece in self._impossible if piece == piece.edited(self._edits)]
        )

    @property
    def use(self) -> Kind:
        """What the next pass is for: what its rung was offered for, until the player chooses other measures."""
        if self._use is not None:
            return self._use
        if self.chosen.jam:
            return "jam"
        return "whole" if self.chosen.first is None and self.chosen.last is None else "part"

    def order(
        self,
        number: int,
        solo: Solo,
        instrument: Instrument,
        *,
        lean_ms: float,
        sounder: Page | None,
        send: Callable[[list[TimedMidi]], None] | None,
    ) -> Order:
        """The next pass as it is chosen now.

        Args:
            number: of the pass on the wire.
            solo: what is played.
            instrument: what is played on.
            lean_ms: how far the player leans against the click.
            sounder: the page that sounds the click; None for the service.
            send: takes timed MIDI, where the service sounds the click on a port.
        """
        chosen = self.chosen
        free = chosen.free_time
        plan = PassPlan(
            solo.arrangement,
            click_tempo(chosen.tempo),
            first=chosen.first,
            last=chosen.last,
            bounce=chosen.bounce,
            lean_ms=0.0 if free else lean_ms,
        )
        return Order(
            number=number,
            solo=solo,
            plan=plan,
            parts=[] if free else played_along(plan),
            levels=chosen.levels,
            lead=0.0 if free else lead_of(plan),
            listen=partial(FreeEar if free else Listener, settings=chosen.listening(instrument.string_channels)),
            tolerance_ms=chosen.tolerance_ms,
            instrument=instrument,
            tempo=chosen.tempo,
            self_marked=chosen.self_marked,
            sounder=None if free else sounder,
            send=None if free else send,
            out_delay=0.0 if free else chosen.out_delay_ms / 1000,
            free=free,
            piece=self.piece,
            use=self.use,
        )

    def change(self, message: Settings) -> Chosen:
        """Change the settings; returns those of before.

        Raises:
            InputError: when they contradict each other, or the solo has no such measures to be mixed in.
        """
        before = self.chosen
        self._change(message)
        if self.chosen.tune != before.tune:
            self.at_hand = self.chosen.tune
        if _aim(self.chosen) != _aim(before):
            self._use = None
        return before

    def take_rung(self, rung: Rung) -> None:
        """Choose what the ladder offers: it is climbed to a click. Its solo may have to be awaited.

        Args:
            rung: one without a tune is of the tune at hand.

        Raises:
            InputError: when it names measures that cannot be mixed in.
        """
        self._change(_settings_of(rung, self.at_hand))
        self._use = rung.use

    def take_again(self, order: Order) -> None:
        """Choose what was played before. Its solo may have to be awaited."""
        piece, plan = order.piece, order.plan
        self._change(
            Settings(
                tune=piece.tune,
                tier=piece.tier,
                mix=list(piece.mix),
                jam=piece.jam,
                tempo=order.tempo,
                whole=plan.first is None and plan.last is None,
            )
        )
        self._change(Settings(first=plan.first, last=plan.last))
        self._use = order.use

    def is_possible(self, rung: Rung) -> bool:
        """Whether the solo of a rung is not known to be one that cannot be made."""
        piece = changed(self.chosen, _settings_of(rung, self.at_hand)).piece
        return piece.edited(self._edits) not in self._impossible

    def prepare(self, rung: Rung) -> None:
        """Have the solo of a rung written that may be taken next, so that nobody waits for it then; where it cannot be
        made, ``arrived`` is called too."""
        piece = changed(self.chosen, _settings_of(rung, self.at_hand)).piece
        if piece.tune != self.chosen.tune:
            self._fetch(piece.tune, piece.tier, self._edits_of(piece.tune), pass_over)
        elif not piece.is_plain and self._is_whole:
            try:
                piece = self._canonical(piece).edited(self._edits)
            except InputError:
                return  # it is told when the rung is taken
            if not piece.is_plain and self._made.get(piece) is None:
                self._make(piece, partial(self._prepared, piece))

    def recall(self, message: Settings) -> None:
        """Choose what was chosen another day, as far as it is still to be had: solos may have lost measures since."""
        try:
            self.change(message)
        except InputError:
            self.change(structs.replace(message, mix=[]))

    def _change(self, message: Settings) -> None:
        before, after = self.chosen, changed(self.own, message)
        if after.tune != before.tune:
            self._rule(after)
            self._want_solos()
            return
        if self._is_whole and after.piece != before.piece:
            after = _with(after, self._canonical(after.piece))
        self._rule(after)
        self._want_piece()
        self._fit()

    def renew(self) -> None:
        """Have the solos of the tune that is chosen written anew, since its edits are others now. Those that are there
        stay until all have come."""
        self._want_solos(anew=self._is_whole)

    def make_anew(self) -> None:
        """Have all solos written anew, since they come out otherwise now."""
        self._made = Shelf(_KEPT)
        self._impossible.clear()
        if self.chosen.tune:
            self.renew()

    def _want_solos(self, *, anew: bool = False) -> None:
        tune = self.chosen.tune
        edits = self._edits_of(tune)
        self._asked = asked = object()
        self._awaited = None
        self.waiting = "Writing the solos …"
        if not anew:
            self.solos, self._is_whole, self._edits = {}, False, edits

        def arrived(solos: Solos | CoachError, /, *, more: bool = False, lacking: CoachError | None = None) -> None:
            if self._asked is not asked:
                return
            if isinstance(solos, CoachError):
                self._asked = None
                self.solos, self._is_whole = {}, False
                self.waiting = str(solos)
                self._arrived(solos)
            elif not more:
                self._asked = None
                self._edits = edits
                self._have(solos, anew=anew, lacking=lacking)
            elif not anew:
                self.solos = solos
                self.waiting = progress(solos)
                self._arrived(None)

        self._fetch(tune, self.chosen.tier, edits, arrived)

    def _have(self, solos: Solos, *, anew: bool, lacking: CoachError | None) -> None:
        """All solos of the tune that is chosen have come."""
        self.waiting = ""
        self.solos, self._is_whole = solos, True
        trouble = lacking
        try:
            self.chosen = _with(self.chosen, self._canonical(self.chosen.piece))
        except InputError as error:
            trouble = error
            self.chosen = _with(self.chosen, self._canonical(replace(self.chosen.piece, mix=())))
        self._want_piece()
        self._fit()
        own = self.solos.get(self.chosen.tier)
        if own is not None and not anew:
            self.chosen = changed(self.chosen, Settings(bounce=own.arrangement.bounce))
        if trouble is not None or not self.is_awaited:
            self._arrived(trouble)

    def _want_piece(self) -> None:
        """Have the solo written that is chosen, where it is not there."""
        piece = self.piece
        if not self._is_whole or self._asked is not None or piece == self._awaited:
            return
        if piece.is_plain or self._made.get(piece) is not None:
            self._awaited = None
            self.waiting = ""
            return
        self._awaited = piece
        self.waiting = "Writing the solo …"

        def arrived(solo: Solo | CoachError) -> None:
            self._keep(piece, solo)
            if self._awaited != piece:
                return
            self._awaited = None
            self.waiting = ""
            if isinstance(solo, CoachError):
                self.chosen = replace(self.chosen, mix=() if not piece.jam else piece.mix, jam=False)
                self._use = None
                self._want_piece()
            self._fit()
            self._arrived(solo if isinstance(solo, CoachError) else None)

        self._make(piece, arrived)

    def _prepared(self, piece: Piece, solo: Solo | CoachError) -> None:
        self._keep(piece, solo)
        if piece in self._impossible and piece != self._awaited:  # who awaits it is told of the reason
            self._arrived(None)

    def _keep(self, piece: Piece, solo: Solo | CoachError) -> None:
        if isinstance(solo, Solo):
            self._made.put(piece, solo)
        elif isinstance(solo, ArrangeError):  # other reasons, such as a worker that died, may pass
            self._impossible.add(piece)

    def _canonical(self, piece: Piece) -> Piece:
        """A solo of the tune that is chosen: in a tier that there is, its repeats named with the measures that they
        repeat; one that is mixed in all its measures is the next tier's own.

        Raises:
            InputError: when there are no such measures, or nothing to mix.
        """
        if not piece.mix:
            return piece if piece.tier in self.solos else replace(piece, tier=next(iter(self.solos)))
        following = next_tier(piece.tier)
        own = self.solos.get(piece.tier)
        if own is None or following is None or following not in self.solos:
            raise InputError(
                f"there is no solo of a tier behind the {piece.tier} one to mix in",
                where=next(iter(self.solos.values())).arrangement.title,
                cure="leave the solo as it is",
            )
        mix = with_repeats(piece.mix, own.arrangement)
        if len(mix) == len(own.arrangement.measures):
            return replace(piece, tier=following, mix=())
        return replace(piece, mix=mix)

    def _fit(self) -> None:
        """Make the settings fit the solo, once it is there: measures that it has."""
        if self.solo is not None and self._is_whole:
            self.chosen = fitted(self.chosen, self.solo.arrangement)


def _settings_of(rung: Rung, at_hand: str) -> Settings:
    """The settings that a rung asks for."""
    tier: Tier | None = next((tier for tier in TIERS if tier == rung.tier), None)
    jam = rung.use == "jam"
    return Settings(
        tune=rung.tune or at_hand,
        tier=tier,
        mix=rung.mix,
        jam=jam,
        tempo=rung.tempo,
        whole=jam,
        first=None if jam else rung.first,
        last=None if jam else rung.last,
        with_solo=rung.solo,
        with_backing=rung.backing,
        free_time=False,
    )


def _with(chosen: Chosen, piece: Piece) -> Chosen:
    return replace(chosen, tier=piece.tier, mix=piece.mix, jam=piece.jam)


def _aim(chosen: Chosen) -> tuple[Piece, int | None, int | None]:
    """Which measures of which solo are chosen."""
    return chosen.piece, chosen.first, chosen.last
