"""Instruments, shop settings, sleeves, and what the other ways of clamping need to know."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from crib.models.append_only import guard


class Migration(migrations.Migration):

    dependencies = [
        ('crib', '0004_pin'),
    ]

    operations = [
        migrations.CreateModel(
            name='Calibration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('result', models.CharField(choices=[('passed', 'Within its limits'), ('adjusted', 'Found out, adjusted'), ('failed', 'Out of its limits'), ('suspect', 'Dropped or overloaded')], max_length=8)),
                ('on', models.DateField()),
                ('certificate', models.CharField(blank=True, max_length=60)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
            ],
            options={
                'ordering': ['-on', '-id'],
            },
        ),
        migrations.CreateModel(
            name='Instrument',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('mark', models.CharField(max_length=20)),
                ('mark_key', models.CharField(editable=False, max_length=20, unique=True)),
                ('kind', models.CharField(choices=[('wrench', 'Torque wrench'), ('presetter', 'Presetter'), ('height_gauge', 'Height gauge'), ('touch_plate', 'Touch plate'), ('micrometer', 'Micrometer'), ('caliper', 'Caliper'), ('indicator', 'Dial indicator'), ('scale', 'Scale')], max_length=14)),
                ('description', models.CharField(blank=True, max_length=80)),
                ('torque_min_mnm', models.PositiveIntegerField(blank=True, null=True)),
                ('torque_max_mnm', models.PositiveIntegerField(blank=True, null=True)),
                ('reach_um', models.PositiveIntegerField(blank=True, help_text='Square to the middle of the handle.', null=True)),
                ('step_um', models.PositiveIntegerField(blank=True, help_text='The smallest step it shows.', null=True)),
                ('uncertainty_um', models.PositiveIntegerField(blank=True, help_text='U with k = 2, from its certificate.', null=True)),
                ('months_between', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('pulls_between', models.PositiveIntegerField(blank=True, null=True)),
                ('is_retired', models.BooleanField(default=False)),
                ('note', models.CharField(blank=True, max_length=200)),
            ],
            options={
                'ordering': ['mark_key'],
            },
        ),
        migrations.CreateModel(
            name='SettingChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40)),
                ('value', models.JSONField(null=True)),
                ('before', models.JSONField(null=True)),
                ('reason', models.CharField(max_length=200)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
            ],
            options={
                'ordering': ['-at', '-id'],
            },
        ),
        migrations.CreateModel(
            name='SleeveFacts',
            fields=[
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='sleeve_facts', serialize=False, to='crib.item')),
                ('outer_um', models.PositiveIntegerField(help_text='Outside diameter: the bore it goes in.')),
                ('bore_um', models.PositiveIntegerField(help_text='The shank it takes.')),
                ('length_um', models.PositiveIntegerField(blank=True, null=True)),
                ('suits', models.CharField(choices=[('hydraulic', 'Hydraulic chuck'), ('milling_chuck', 'Milling chuck'), ('side_lock', 'Side lock')], max_length=14)),
                ('sealed', models.BooleanField(blank=True, null=True)),
                ('n_max_rpm', models.PositiveIntegerField(blank=True, null=True)),
                ('mass_g', models.PositiveIntegerField(blank=True, null=True)),
            ],
        ),
        migrations.RemoveConstraint(
            model_name='cutterfacts',
            name='cutter_shank_form_known',
        ),
        migrations.RemoveConstraint(
            model_name='item',
            name='item_kind_known',
        ),
        migrations.AddField(
            model_name='colletfacts',
            name='mass_g',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='colletfacts',
            name='square_um',
            field=models.PositiveIntegerField(blank=True, help_text='Tapping collet: its inner square, across flats.', null=True),
        ),
        migrations.AddField(
            model_name='cutterfacts',
            name='coolant_through',
            field=models.BooleanField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='cutterfacts',
            name='keyway_um',
            field=models.PositiveIntegerField(blank=True, help_text='Shell cutter: width of the slot for the driving keys.', null=True),
        ),
        migrations.AddField(
            model_name='cutterfacts',
            name='pitch_um',
            field=models.PositiveIntegerField(blank=True, help_text='Tap: of the thread.', null=True),
        ),
        migrations.AddField(
            model_name='cutterfacts',
            name='point_angle_tenths',
            field=models.PositiveSmallIntegerField(blank=True, help_text='Drill, countersink, V-groove: included angle.', null=True),
        ),
        migrations.AddField(
            model_name='cutterfacts',
            name='square_um',
            field=models.PositiveIntegerField(blank=True, help_text='Tap: the square of its shank, across flats.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='bore_depth_um',
            field=models.PositiveIntegerField(blank=True, help_text='How deep a shank may go in, as marked by the maker.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='bore_min_um',
            field=models.PositiveIntegerField(blank=True, help_text='Drill chuck: the smallest shank it closes on.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='centre_um',
            field=models.PositiveIntegerField(blank=True, help_text='Gauge line to the centre of mass, towards the tip.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='grip_min_um',
            field=models.PositiveIntegerField(blank=True, help_text='Least insertion marked on the holder.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='key_um',
            field=models.PositiveIntegerField(blank=True, help_text='Arbor: width of its driving keys.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='screw_torque_mnm',
            field=models.PositiveIntegerField(blank=True, help_text='Of the clamping screw, as marked by the maker.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='spigot_um',
            field=models.PositiveIntegerField(blank=True, help_text='Arbor: length of the spigot.', null=True),
        ),
        migrations.AddField(
            model_name='holderfacts',
            name='square_um',
            field=models.PositiveIntegerField(blank=True, help_text='Tap holder: the square that drives, across flats.', null=True),
        ),
        migrations.AddField(
            model_name='nutfacts',
            name='mass_g',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='nutfacts',
            name='seal_max_um',
            field=models.PositiveIntegerField(blank=True, help_text='Largest shank its sealing disk takes.', null=True),
        ),
        migrations.AddField(
            model_name='nutfacts',
            name='seal_min_um',
            field=models.PositiveIntegerField(blank=True, help_text='Smallest shank its sealing disk takes.', null=True),
        ),
        migrations.AddField(
            model_name='nutfacts',
            name='sealed',
            field=models.BooleanField(blank=True, help_text='Coolant nut with a sealing disk or ring.', null=True),
        ),
        migrations.AlterField(
            model_name='cutterfacts',
            name='shank_form',
            field=models.CharField(choices=[('plain', 'Plain cylindrical'), ('flat', 'Cylindrical with flat'), ('sloping', 'Cylindrical with sloping flat'), ('square', 'Cylindrical with square'), ('bore', 'Bore (arbor mounted)')], default='plain', max_length=8),
        ),
        migrations.AlterField(
            model_name='holderfacts',
            name='bore_um',
            field=models.PositiveIntegerField(blank=True, help_text='Bore or spigot; of a drill chuck the largest shank.', null=True),
        ),
        migrations.AlterField(
            model_name='item',
            name='kind',
            field=models.CharField(choices=[('holder', 'Holder'), ('collet', 'Collet'), ('nut', 'Nut'), ('pull_stud', 'Pull stud'), ('cutter', 'Cutter'), ('sleeve', 'Reduction sleeve'), ('insert', 'Insert'), ('spare', 'Spare')], max_length=10),
        ),
        migrations.AddConstraint(
            model_name='cutterfacts',
            constraint=models.CheckConstraint(condition=models.Q(('shank_form__in', ['plain', 'flat', 'sloping', 'square', 'bore'])), name='cutter_shank_form_known'),
        ),
        migrations.AddConstraint(
            model_name='holderfacts',
            constraint=models.CheckConstraint(condition=models.Q(('bore_min_um', None), ('bore_um', None), ('bore_min_um__lte', models.F('bore_um')), _connector='OR'), name='holder_bores_in_order'),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['holder', 'collet', 'nut', 'pull_stud', 'cutter', 'sleeve', 'insert', 'spare'])), name='item_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='nutfacts',
            constraint=models.CheckConstraint(condition=models.Q(('seal_max_um', None), ('seal_min_um', None), ('seal_min_um__lte', models.F('seal_max_um')), _connector='OR'), name='nut_seal_in_order'),
        ),
        migrations.AddField(
            model_name='calibration',
            name='act',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crib.act'),
        ),
        migrations.AddField(
            model_name='calibration',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='instrument',
            constraint=models.CheckConstraint(condition=models.Q(('mark_key', ''), _negated=True), name='instrument_has_mark'),
        ),
        migrations.AddConstraint(
            model_name='instrument',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['wrench', 'presetter', 'height_gauge', 'touch_plate', 'micrometer', 'caliper', 'indicator', 'scale'])), name='instrument_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='instrument',
            constraint=models.CheckConstraint(condition=models.Q(('torque_min_mnm', None), ('torque_max_mnm', None), ('torque_min_mnm__lte', models.F('torque_max_mnm')), _connector='OR'), name='instrument_torques_in_order'),
        ),
        migrations.AddField(
            model_name='calibration',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='crib.instrument'),
        ),
        migrations.AddField(
            model_name='settingchange',
            name='act',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crib.act'),
        ),
        migrations.AddField(
            model_name='settingchange',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='sleevefacts',
            constraint=models.CheckConstraint(condition=models.Q(('bore_um__gt', 0), ('bore_um__lt', models.F('outer_um'))), name='sleeve_wall'),
        ),
        migrations.AddConstraint(
            model_name='sleevefacts',
            constraint=models.CheckConstraint(condition=models.Q(('suits__in', ['hydraulic', 'milling_chuck', 'side_lock'])), name='sleeve_suits_known'),
        ),
        migrations.AddConstraint(
            model_name='calibration',
            constraint=models.CheckConstraint(condition=models.Q(('result__in', ['passed', 'adjusted', 'failed', 'suspect'])), name='calibration_result_known'),
        ),
        migrations.AddIndex(
            model_name='settingchange',
            index=models.Index(fields=['name', '-at'], name='setting_name'),
        ),
        migrations.AddConstraint(
            model_name='settingchange',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='setting_has_name'),
        ),
        migrations.AddConstraint(
            model_name='settingchange',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='setting_has_reason'),
        ),
        guard("crib_calibration"),
        guard("crib_settingchange"),
    ]
