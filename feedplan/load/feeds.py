"""Feeds from their labels, and the shelf alone: what a hand at the sink needs, whatever else is amiss."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from pydantic import ConfigDict, TypeAdapter

from feedplan.dose.arithmetic import LIQUID, SOLID, Product
from feedplan.dose.grade import Grade, parse_grade, with_nutrients
from feedplan.dose.measures import measured_in
from feedplan.dose.salts import AMMONIUM, NITRATE, SALTS, UREA, salt_called
from feedplan.dose.strength import STRONGEST_PPM_N, LabelShare
from feedplan.errors import FilesHaveProblems
from feedplan.load import fields as f
from feedplan.load.bounds import number_words
from feedplan.load.collection_models import (
    FeedModel,
    HabitsModel,
    MeasuresModel,
    WaterSourceModel,
)
from feedplan.load.collection_parts import habits_of, measures_of, units_told, water_source_of
from feedplan.load.folder import COLLECTION, DiskFolder, Page
from feedplan.load.problems import Findings, Passage
from feedplan.load.read_feeds import Amount, MixedRate
from feedplan.load.shape import check_shape
from feedplan.model.collection import Feed, Habits, OnHand, WaterSource
from feedplan.model.forms import DISSOLVING, FORMS
from feedplan.words.writing import typed_words

# The forms' percents are rounded on labels, each by up to half of its last digit.
_ROUNDED = Decimal("0.5")

# What a level spoon or cup of powder weighs about [g], to show how it is written (common practice, no source).
_LEVEL_G = {"tsp": 5, "tbsp": 15, "cup": 240}


def _as_rate(per_l: Decimal, unit: str) -> str:
    return number_words(per_l, f"{unit} per L")


def feed_of(name: str, model: FeedModel, part: Passage) -> Feed | None:
    """A feed, or None with its problems noted. part: where it stands."""
    return _Label(name, model, part).feed()


def ppm_of_fed(
    told: LabelShare | MixedRate,
    named: str | None,
    feeds: Mapping[str, Feed | None],
    part: Passage,
    own: Sequence[str] = (),
) -> Decimal | None:
    """The nitrogen of a share of a label's rate, or of product in water [mg/L]; None with what is missing noted.

    named: the feed it was; None where nobody said, which will do where those trees use one, or the shelf holds one.
    feeds: the shelf, None for one with problems of its own. part: where it stands. own: what those trees use.
    """
    mixed = {name: feed for name, feed in feeds.items() if feed is None or feed.form in DISSOLVING}
    fit = [each for each in own if each in mixed] or list(mixed)
    if named is None and len(fit) > 1:
        labels = [name for name in fit if (each := mixed[name]) and each.product.label_rate_per_l is not None]
        offered = fit if isinstance(told, MixedRate) else labels
        offered = offered if own else offered[:1]
        which = (
            f"which, such as feed: {' or feed: '.join(offered)} (record: --feed {typed_words(offered[:1])})"
            if offered
            else "for example 50 ppm N"
        )
        part.wrong(f"fed: {told} is another strength with each feed; write {which}")
        return None
    feed = mixed.get(named if named is not None else fit[0]) if fit or named else None
    if feed is None:
        return None
    rate = _mixed_per_l(told, feed, part)
    ppm = None if rate is None else rate * feed.n_mg_per_g
    if ppm is not None and ppm > STRONGEST_PPM_N:
        above = f"above {STRONGEST_PPM_N} ppm N; feeds for trees are 20 to 200 ppm N"
        part.wrong(f"fed: {told} of '{feed.name}' is {ppm:.0f} ppm N, {above}")
        return None
    return None if ppm is None else Decimal(f"{ppm.normalize():f}")


def _mixed_per_l(told: LabelShare | MixedRate, feed: Feed, part: Passage) -> Decimal | None:
    """Product in a litre of feed [g or ml], or None with what is missing noted."""
    product = feed.product
    if isinstance(told, LabelShare):
        if product.label_rate_per_l is None:
            part.wrong(f"fed: '{feed.name}' tells no label_rate; add it, or write for example 50 ppm N")
            return None
        return product.label_rate_per_l * told.share
    if told.unit == product.unit:
        return told.per_l
    if told.spoon and (grams := product.levelled_g(told.per_l)) is not None:
        return grams
    if told.spoon and product.unit == "g":
        name = told.spoon.split(" ")[-1]
        part.wrong(
            f"fed: {told} is in {name}: weigh a level one and add it to '{feed.name}' in collection.yaml, as in "
            f"spoon: {{{name}: {_LEVEL_G[name]} g}}, or write the strength, such as 75 ppm N"
        )
        return None
    if told.unit == "g" and product.density_kg_per_l is not None:
        return told.per_l / product.density_kg_per_l
    weighed = "weighed in g" if product.unit == "g" else "measured in ml"
    part.wrong(
        f"fed: '{feed.name}' is {weighed}, and {told} is not; type "
        f"feedplan dose {typed_words([feed.name])} {told}, and write what it gives, such as 75 ppm N"
    )
    return None


class _Label:
    """One feed as its label is written."""

    def __init__(self, name: str, model: FeedModel, part: Passage) -> None:
        self._name = name
        self._model = model
        self._part = part
        self._form = FORMS[model.form]
        self._is_liquid = self._form.unit == "ml"

    def _wrong(self, key: str, complaint: str) -> None:
        """Notes what is wrong with one of its keys."""
        self._part.wrong(f"{key} of feed '{self._name}'{complaint}", key)

    def feed(self) -> Feed | None:
        """The feed, or None with its problems noted."""
        part, model, form = self._part, self._model, self._form
        before = part.findings.count
        rate, maximum = self._per_litre("label_rate"), self._per_litre("label_maximum")
        if rate is not None and maximum is not None and maximum < rate:
            self._wrong(
                "label_maximum", f" is below its label_rate; write {_as_rate(rate, self._form.unit)} or more"
            )
        self._check_keys()
        grade = self._grade()
        product = None if grade is None else self._product(grade, rate, maximum, before)
        if grade is None or product is None:
            return None
        shortest, longest = model.longevity or (form.usual_days, form.usual_days)
        feed = Feed(
            self._name,
            form,
            product,
            shortest,
            Decimal(21) if model.longevity_at is None else model.longevity_at,
            part.source,
            longest_days=longest,
            released=model.released or form.released or Decimal(1),
            ec_per_100_ppm_n=self._ec(product),
            nitrogen=self._nitrogen(grade),
            salt=salt_called(model.salt or "") or "",
            on_hand=self._on_hand(product),
            lag_days=form.lag_days if model.lag is None else model.lag,
        )
        return None if part.findings.count > before else feed

    def _per_litre(self, key: str) -> Decimal | None:
        """A label's rate in what the feed is measured in [g/L or ml/L]."""
        rate, wanted = getattr(self._model, key), self._form.unit
        if rate is None:
            return None
        amount, unit, spoon = rate
        if unit == wanted:
            return Decimal(amount)
        if spoon and not self._is_liquid:
            return self._of_spoons(key, amount, spoon)
        if self._is_liquid and self._model.density is not None:
            return Decimal(amount) / self._model.density
        what = "liquid; write ml" if self._is_liquid else f"{self._form} feed; weigh it and write g"
        self._wrong(key, f" is in {unit}, but it is a {what}, such as 1 {wanted} per L")
        return None

    def _of_spoons(self, key: str, ml: Decimal, spoon: str) -> Decimal | None:
        """A rate told in level spoons or cups [g/L]; None with what is missing noted."""
        told, name = self._model.spoon, spoon.rsplit(" ", maxsplit=1)[-1]
        if told is None:
            self._part.wrong(
                f"{key} of feed '{self._name}' is in {name}, and a powder weighs what a scale says: weigh one level "
                f"{name}; add for example spoon: {{{name}: {_LEVEL_G[name]} g}}"
            )
        elif told.ml is None:
            grams = number_words(told.grams, "g")
            self._wrong("spoon", f" does not say which spoon weighs {grams}; write {{tbsp: {grams}}}, or tsp")
        else:
            return Decimal(ml * told.grams / told.ml)
        return None

    def _check_keys(self) -> None:
        """Notes keys that do not belong to the form, and a liquid that cannot be measured."""
        model, form = self._model, self._form
        if self._is_liquid and model.measured == "by weight" and model.density is None:
            self._part.wrong(
                f"feed '{self._name}' is a liquid measured by weight and has no density; "
                "write density: 1.15 kg per L as its label says, or measured: by volume"
            )
        for key, belongs, of_what in (
            ("density", self._is_liquid, "liquid"),
            ("measured", self._is_liquid, "liquid"),
            ("spoon", not self._is_liquid, "powder or granule"),
            ("longevity", form.is_solid, "coated feed"),
            ("longevity_at", form.is_solid, "coated feed"),
            ("released", form.released is not None, "meal or organic feed"),
            ("lag", form.released is not None, "meal or organic feed"),
        ):
            if key in model.model_fields_set and not belongs and getattr(model, key) is not None:
                told = f"{key} of feed '{self._name}' belongs to a {of_what}; remove it or mend form"
                self._part.key(key).wrong(told)

    def _grade(self) -> Grade | None:
        """What it holds, from its grade or its salt, further nutrients added; None with its problem noted."""
        model, part = self._model, self._part
        if model.grade is None and model.salt is None:
            part.wrong(f"feed '{self._name}' has no 'grade'; write for example grade: 24-8-16")
            return None
        if model.grade is not None and model.salt is not None:
            part.key("salt").wrong(f"feed '{self._name}' has a grade and a salt; write one of them")
            return None
        if model.salt is not None and salt_called(model.salt) is None:
            part.at("salt").unknown("salt", model.salt, SALTS, f"salt of feed '{self._name}'")
            return None
        try:
            if model.salt is not None:
                return SALTS[salt_called(model.salt) or model.salt].grade
            grade = parse_grade(model.grade or "", model.basis)
            return with_nutrients(grade, model.contains) if model.contains else grade
        except ValueError as error:
            key = "contains" if "is not a nutrient" in str(error) or "twice" in str(error) else "grade"
            self._wrong(key, f": {error}")
            return None

    def _product(
        self, grade: Grade, rate: Decimal | None, maximum: Decimal | None, before: int
    ) -> Product | None:
        """The product for the arithmetic; None, with why unless problems were found since `before`."""
        model, is_liquid = self._model, self._is_liquid
        try:
            return Product(
                grade=grade,
                form=LIQUID if is_liquid else SOLID,
                density_kg_per_l=model.density if is_liquid else None,
                by_volume=is_liquid and model.measured == "by volume",
                spoon_g=None if is_liquid or model.spoon is None else model.spoon.grams,
                spoon_ml=None if is_liquid or model.spoon is None else model.spoon.ml,
                label_rate_per_l=rate,
                label_maximum_per_l=maximum,
                name=self._name,
            )
        except ValueError as error:
            if self._part.findings.count == before:
                self._wrong("grade", f": {error}")
            return None

    def _nitrogen(self, grade: Grade) -> tuple[tuple[str, Decimal], ...]:
        """The forms of its nitrogen [percent of the product], as told or as its salt has them; empty when unknown."""
        model = self._model
        if model.salt is not None:
            return tuple(SALTS[salt_called(model.salt) or model.salt].nitrogen_percents.items())
        if model.nitrogen is None:
            return ()
        forms = {form: getattr(model.nitrogen, form) or Decimal(0) for form in (NITRATE, AMMONIUM, UREA)}
        total = sum(forms.values(), Decimal(0))
        if abs(total - grade.n) > _ROUNDED:
            self._wrong(
                "nitrogen",
                f" adds up to {total.normalize():f} %, its grade has {grade.n.normalize():f} %; "
                "copy nitrate, ammonium and urea from the label",
            )
        return tuple((form, percent) for form, percent in forms.items() if percent)

    def _ec(self, product: Product) -> Decimal | None:
        """The conductivity it adds [mS/cm per 100 mg N/L]; None when not told or not to be reckoned from what is."""
        told, n_mg = self._model.ec, product.mg_per_unit["N"]
        if told is None:
            return None
        if n_mg == 0:
            self._wrong("ec", ": it holds no nitrogen, so the figure is of no use; remove it")
            return None
        if told.ppm_n is not None:
            return Decimal(told.ms_per_cm * 100 / told.ppm_n)
        amount, unit = told.rate
        if unit != product.unit:
            self._wrong("ec", f" is for {unit}; write it at 1 {product.unit} per L")
            return None
        return Decimal(told.ms_per_cm * 100 / (amount * n_mg))

    def _on_hand(self, product: Product) -> OnHand:
        """What is known of its tub or bottle; a liquid's weight turned into volume where its density is known."""
        model, price = self._model, None
        stock = self._in_unit("stock", model.stock, product)
        if model.price is not None:
            amount = self._in_unit("price", model.price.amount, product)
            price = None if amount is None else model.price.cost / amount
        if model.keeps is not None and model.opened is None:
            told = f"feed '{self._name}' keeps {model.keeps}, but from when? add opened:"
            self._part.key("keeps").warn(told)
        return OnHand(
            stock=stock,
            counted=model.counted or model.opened,
            opened=model.opened,
            best_before=model.keeps.until(model.opened) if model.keeps and model.opened else None,
            price=price,
            currency=model.price.currency if model.price is not None else "",
        )

    def _in_unit(self, key: str, amount: Amount | None, product: Product) -> Decimal | None:
        """An amount in what the product is measured in [g or ml]; None, with why noted, where that cannot be."""
        if amount is None or amount.unit == product.unit:
            return None if amount is None else amount.number
        if self._is_liquid and product.density_kg_per_l is not None:
            return amount.number / product.density_kg_per_l
        wanted = "ml or L" if self._is_liquid else "g or kg"
        self._wrong(key, f" is in {amount.unit}; write it in {wanted}")
        return None


class _ShelfModel(f.FileModel):
    """The parts of a collection that a dose needs; the others are passed over."""

    model_config = ConfigDict(extra="ignore")

    feeds: dict[f.Name, FeedModel] = f.by_name()
    habits: HabitsModel | None = None
    measures: MeasuresModel | None = None
    water: dict[f.Name, WaterSourceModel] = f.by_name()


_SHELF = TypeAdapter(_ShelfModel)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Feeds by name, habits, and waters, the usual one first."""

    feeds: Mapping[str, Feed]
    habits: Habits
    waters: tuple[WaterSource, ...] = ()

    @property
    def water_ec(self) -> float | None:
        """Conductivity of the usual water [mS/cm], None when it is not told."""
        return self.waters[0].ec_ms_per_cm if self.waters else None


def load_shelf(path: str | Path) -> Shelf:
    """The shelf of the collection in a folder, or whose collection.yaml that is.

    Raises FilesHaveProblems with what is wrong with feeds, habits, waters or the file as YAML; slips in groups, trees,
    schedules or the journal are for load_collection to tell.
    """
    page = DiskFolder(path).page(COLLECTION)
    assert page is not None
    with measured_in(units_told(page.value)):
        return _shelf_of(page)


def _shelf_of(page: Page) -> Shelf:
    """The shelf, in the measures of the place."""
    findings = Findings()
    findings.add_misread(page.problems)
    whole = Passage(page.spot, findings)
    model: _ShelfModel | None = check_shape(_SHELF, page.value or {}, whole)
    found = model.feeds if model is not None else {}
    feeds = {name: feed_of(name, part, whole.at("feeds", name)) for name, part in found.items()}
    measures = measures_of(model.measures, model.habits, whole) if model is not None else None
    if findings.problems or model is None or measures is None:
        raise FilesHaveProblems(findings.problems)
    waters = (water_source_of(name, part, whole.named("water", name)) for name, part in model.water.items())
    known = {name: feed for name, feed in feeds.items() if feed is not None}
    return Shelf(known, habits_of(model.habits, measures, whole), tuple(waters))
