"""What can be bought: the item, and the facts of each kind."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from crib.models.suppliers import Supplier
from crib.rules.cutter_kinds import CUTTER_KINDS
from crib.rules.keys import key_of


class ItemKind(models.TextChoices):
    HOLDER = "holder", "Holder"
    COLLET = "collet", "Collet"
    NUT = "nut", "Nut"
    PULL_STUD = "pull_stud", "Pull stud"
    CUTTER = "cutter", "Cutter"
    SLEEVE = "sleeve", "Reduction sleeve"
    INSERT = "insert", "Insert"
    SPARE = "spare", "Spare"


class Item(models.Model):
    """Something the shop buys and keeps. Its measurable facts are in the row of its kind."""

    code = models.CharField(max_length=40, help_text="The shop's own name for it, as K-08.")
    code_key = models.CharField(max_length=40, unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=ItemKind)
    description = models.CharField(max_length=120)
    search_key = models.CharField(max_length=250, editable=False, default="")
    bought_in_inches = models.BooleanField(default=False)
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, blank=True)
    supplier_article = models.CharField(max_length=60, blank=True)
    price_cents = models.PositiveIntegerField(null=True, blank=True)
    pack_size = models.PositiveIntegerField(default=1)
    minimum_kept = models.PositiveIntegerField(
        null=True, blank=True, help_text="Order when fewer are left. Empty: not watched."
    )
    use_per_week = models.DecimalField(
        max_digits=7, decimal_places=2, null=True, blank=True, help_text="Expected, in pieces."
    )
    home_place = models.ForeignKey(
        "crib.Place", models.PROTECT, null=True, blank=True, related_name="home_of"
    )
    is_retired = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["code_key"]
        constraints = [
            models.CheckConstraint(condition=~Q(code_key=""), name="item_has_code"),
            models.CheckConstraint(condition=Q(kind__in=ItemKind.values), name="item_kind_known"),
            models.CheckConstraint(condition=Q(pack_size__gt=0), name="item_pack_positive"),
            models.CheckConstraint(
                condition=Q(use_per_week=None) | Q(use_per_week__gte=0),
                name="item_use_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.description}"

    def save(self, *args, **kwargs):
        self.code_key = key_of(self.code)
        words = key_of(f"{self.code} {self.description} {self.supplier_article}")
        # Folding makes some letters longer: ß becomes ss.
        self.search_key = words[: self._meta.get_field("search_key").max_length]
        super().save(*args, **kwargs)

    @property
    def facts(self):
        """The row of facts of this item's kind; None for spares and where it was never entered."""
        if self.kind == ItemKind.SPARE:
            return None
        return getattr(self, f"{self.kind}_facts", None)


class Clamping(models.TextChoices):
    COLLET = "collet", "Collet chuck"
    ARBOR = "arbor", "Shell or face mill arbor"
    SIDE_LOCK = "side_lock", "Side lock"
    SHRINK = "shrink", "Shrink fit"
    HYDRAULIC = "hydraulic", "Hydraulic"
    MILLING_CHUCK = "milling_chuck", "Milling chuck"
    DRILL_CHUCK = "drill_chuck", "Drill chuck"
    TAP = "tap", "Tap holder"


class HolderFacts(models.Model):
    """A holder: spindle side, clamping side, and the limits marked on it."""

    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="holder_facts")
    interface = models.CharField(max_length=20, help_text="Code of the table of spindle tapers.")
    clamping = models.CharField(max_length=14, choices=Clamping, default=Clamping.COLLET)
    collet_series = models.CharField(max_length=8, blank=True)
    nose_thread = models.CharField(max_length=12, blank=True)
    bore_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Bore or spigot; of a drill chuck the largest shank."
    )
    bore_min_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Drill chuck: the smallest shank it closes on."
    )
    bore_depth_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="How deep a shank may go in, as marked by the maker."
    )
    grip_min_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Least insertion marked on the holder."
    )
    square_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Tap holder: the square that drives, across flats."
    )
    spigot_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Arbor: length of the spigot."
    )
    key_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Arbor: width of its driving keys."
    )
    screw_torque_mnm = models.PositiveIntegerField(
        null=True, blank=True, help_text="Of the clamping screw, as marked by the maker."
    )
    gauge_length_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Gauge line to nut face as built, or locating face."
    )
    nose_diameter_um = models.PositiveIntegerField(null=True, blank=True)
    n_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    balance_grade_tenths = models.PositiveIntegerField(null=True, blank=True)
    balance_speed_rpm = models.PositiveIntegerField(null=True, blank=True)
    mass_g = models.PositiveIntegerField(null=True, blank=True)
    centre_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Gauge line to the centre of mass, towards the tip."
    )
    coolant_through = models.BooleanField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(interface=""), name="holder_has_interface"),
            models.CheckConstraint(
                condition=Q(clamping__in=Clamping.values), name="holder_clamping_known"
            ),
            models.CheckConstraint(
                condition=~Q(clamping="collet") | ~Q(collet_series=""),
                name="collet_holder_has_series",
            ),
            models.CheckConstraint(
                condition=Q(bore_min_um=None) | Q(bore_um=None) | Q(bore_min_um__lte=F("bore_um")),
                name="holder_bores_in_order",
            ),
            models.CheckConstraint(
                condition=Q(balance_grade_tenths=None, balance_speed_rpm=None)
                | Q(balance_grade_tenths__isnull=False, balance_speed_rpm__isnull=False),
                name="holder_balance_grade_has_speed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.interface} {self.collet_series}".strip()


class ColletFacts(models.Model):
    """A collet: series, the sizes it closes on, and how long it may be used."""

    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="collet_facts")
    series = models.CharField(max_length=8)
    clamp_max_um = models.PositiveIntegerField()
    clamp_min_um = models.PositiveIntegerField()
    length_um = models.PositiveIntegerField(null=True, blank=True)
    runout_class = models.PositiveSmallIntegerField(null=True, blank=True)
    sealed = models.BooleanField(default=False)
    square_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Tapping collet: its inner square, across flats."
    )
    n_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    mass_g = models.PositiveIntegerField(null=True, blank=True)
    life_limit_minutes = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(series=""), name="collet_has_series"),
            models.CheckConstraint(
                condition=Q(clamp_min_um__gt=0, clamp_min_um__lte=F("clamp_max_um")),
                name="collet_range_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.series} {self.clamp_max_um}-{self.clamp_min_um} um"


class NutFacts(models.Model):
    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="nut_facts")
    series = models.CharField(max_length=8)
    thread = models.CharField(max_length=12, blank=True)
    style = models.CharField(
        max_length=10, choices=[("standard", "Standard"), ("mini", "Mini")], default="standard"
    )
    n_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    mass_g = models.PositiveIntegerField(null=True, blank=True)
    sealed = models.BooleanField(
        null=True, blank=True, help_text="Coolant nut with a sealing disk or ring."
    )
    seal_max_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Largest shank its sealing disk takes."
    )
    seal_min_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Smallest shank its sealing disk takes."
    )
    torque_recommended_mnm = models.PositiveIntegerField(null=True, blank=True)
    torque_max_mnm = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(series=""), name="nut_has_series"),
            models.CheckConstraint(
                condition=Q(style__in=["standard", "mini"]), name="nut_style_known"
            ),
            models.CheckConstraint(
                condition=Q(torque_max_mnm=None)
                | Q(torque_recommended_mnm=None)
                | Q(torque_recommended_mnm__lte=F("torque_max_mnm")),
                name="nut_torque_in_order",
            ),
            models.CheckConstraint(
                condition=Q(seal_max_um=None)
                | Q(seal_min_um=None)
                | Q(seal_min_um__lte=F("seal_max_um")),
                name="nut_seal_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.series} {self.style}"


class PullStudFacts(models.Model):
    """A pull stud. `pattern` is the shop's own short name for studs that interchange."""

    item = models.OneToOneField(
        Item, models.CASCADE, primary_key=True, related_name="pull_stud_facts"
    )
    pattern = models.CharField(max_length=20)
    standard = models.CharField(max_length=40, blank=True)
    thread = models.CharField(max_length=16, blank=True)
    angle_deg = models.PositiveSmallIntegerField(null=True, blank=True)
    length_um = models.PositiveIntegerField(null=True, blank=True)
    coolant_through = models.BooleanField(null=True, blank=True)
    n_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    torque_mnm = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(pattern=""), name="pull_stud_has_pattern"),
        ]

    def __str__(self) -> str:
        return f"stud {self.pattern}"


class ShankForm(models.TextChoices):
    PLAIN = "plain", "Plain cylindrical"
    FLAT = "flat", "Cylindrical with flat"
    SLOPING = "sloping", "Cylindrical with sloping flat"
    SQUARE = "square", "Cylindrical with square"
    BORE = "bore", "Bore (arbor mounted)"


class Hand(models.TextChoices):
    RIGHT = "right", "Right-hand"
    LEFT = "left", "Left-hand"


class CutterFacts(models.Model):
    """A cutter. Empty means not recorded; it never means zero or unlimited."""

    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="cutter_facts")
    kind = models.CharField(max_length=12, choices=list(CUTTER_KINDS.items()))
    diameter_um = models.PositiveIntegerField()
    shank_form = models.CharField(max_length=8, choices=ShankForm, default=ShankForm.PLAIN)
    shank_um = models.PositiveIntegerField(help_text="Shank diameter, or bore of a shell cutter.")
    plain_shank_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Length of plain shank."
    )
    marked_grip_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Least insertion marked on the shank."
    )
    overall_um = models.PositiveIntegerField(null=True, blank=True)
    flute_um = models.PositiveIntegerField(null=True, blank=True)
    teeth = models.PositiveSmallIntegerField(null=True, blank=True)
    corner_radius_um = models.PositiveIntegerField(null=True, blank=True)
    hand = models.CharField(max_length=5, choices=Hand, blank=True)
    material = models.CharField(max_length=40, blank=True)
    n_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    mass_g = models.PositiveIntegerField(null=True, blank=True)
    square_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Tap: the square of its shank, across flats."
    )
    pitch_um = models.PositiveIntegerField(null=True, blank=True, help_text="Tap: of the thread.")
    keyway_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Shell cutter: width of the slot for the driving keys."
    )
    point_angle_tenths = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Drill, countersink, V-groove: included angle."
    )
    coolant_through = models.BooleanField(null=True, blank=True)
    seats = models.PositiveSmallIntegerField(default=0)
    insert_item = models.ForeignKey(
        Item, models.PROTECT, null=True, blank=True, related_name="fits_cutters"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(diameter_um__gt=0, shank_um__gt=0), name="cutter_sizes_positive"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=list(CUTTER_KINDS)), name="cutter_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(hand__in=["", *Hand.values]), name="cutter_hand_known"
            ),
            models.CheckConstraint(
                condition=Q(shank_form__in=ShankForm.values), name="cutter_shank_form_known"
            ),
            models.CheckConstraint(
                condition=Q(insert_item=None) | Q(seats__gt=0), name="cutter_insert_has_seats"
            ),
            models.CheckConstraint(
                condition=Q(overall_um=None)
                | Q(plain_shank_um=None)
                | Q(plain_shank_um__lte=F("overall_um")),
                name="cutter_shank_within_overall",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.diameter_um} um"


class SleeveFacts(models.Model):
    """A reduction sleeve: it lets a hydraulic or milling chuck hold a smaller shank."""

    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="sleeve_facts")
    outer_um = models.PositiveIntegerField(help_text="Outside diameter: the bore it goes in.")
    bore_um = models.PositiveIntegerField(help_text="The shank it takes.")
    length_um = models.PositiveIntegerField(null=True, blank=True)
    suits = models.CharField(
        max_length=14,
        choices=[
            ("hydraulic", "Hydraulic chuck"),
            ("milling_chuck", "Milling chuck"),
            ("side_lock", "Side lock"),
        ],
    )
    sealed = models.BooleanField(null=True, blank=True)
    n_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    mass_g = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(bore_um__gt=0, bore_um__lt=F("outer_um")), name="sleeve_wall"
            ),
            models.CheckConstraint(
                condition=Q(suits__in=["hydraulic", "milling_chuck", "side_lock"]),
                name="sleeve_suits_known",
            ),
        ]

    def __str__(self) -> str:
        return f"sleeve {self.outer_um}-{self.bore_um} um"


class InsertFacts(models.Model):
    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="insert_facts")
    designation = models.CharField(max_length=40, blank=True, help_text="By ISO 1832.")
    edges = models.PositiveSmallIntegerField()
    screw_torque_mnm = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(edges__gt=0), name="insert_has_edges"),
        ]

    def __str__(self) -> str:
        return self.designation or f"{self.edges} edge{'' if self.edges == 1 else 's'}"
