"""Wrench, adapter, weighing, clock angles and the re-clock test; sleeves as parts."""

from importlib import import_module

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from crib.models.append_only import guard, guard_again


_before = import_module("assemblies.migrations.0003_append_only")

#: A made build keeps its figures, and from now on what it was tightened with.
MADE_BUILD_CHANGED = f"({_before.MADE_BUILD_CHANGED})" + "".join(
    f" OR (OLD.revision > 0 AND COALESCE(NEW.{name}, -1) <> COALESCE(OLD.{name}, -1))"
    for name in ("wrench_id", "adapter_um")
)


class Migration(migrations.Migration):

    dependencies = [
        ('assemblies', '0007_log_index'),
        ('crib', '0005_bench_parts'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        # SQLite builds the table of parts anew: no trigger may point at it while it is away.
        migrations.RunPython(_before.drop, _before.add),
        migrations.CreateModel(
            name='Reclocking',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('turned', models.CharField(choices=[('holder', 'Holder'), ('collet', 'Collet'), ('nut', 'Nut'), ('pull_stud', 'Pull stud'), ('sleeve', 'Reduction sleeve'), ('cutter', 'Cutter'), ('insert', 'Insert')], max_length=10)),
                ('first_um', models.PositiveIntegerField()),
                ('first_deg', models.PositiveSmallIntegerField()),
                ('second_um', models.PositiveIntegerField()),
                ('second_deg', models.PositiveSmallIntegerField()),
                ('distance_um', models.PositiveIntegerField(blank=True, null=True)),
                ('read_on', models.CharField(blank=True, choices=[('shank', 'Shank, round'), ('bar', 'Test bar'), ('flutes', 'Flutes'), ('nose', 'Nose of the holder')], max_length=6)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
            ],
            options={
                'ordering': ['-at', '-id'],
            },
        ),
        migrations.CreateModel(
            name='Weighing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('mass_g', models.PositiveIntegerField()),
                ('centre_um', models.PositiveIntegerField(blank=True, null=True)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
            ],
            options={
                'ordering': ['-at', '-id'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='buildpart',
            name='part_role_known',
        ),
        migrations.AddField(
            model_name='build',
            name='adapter_um',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='build',
            name='coolant_wanted',
            field=models.BooleanField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='build',
            name='copied_from',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='copies', to='assemblies.build'),
        ),
        migrations.AddField(
            model_name='build',
            name='wrench',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='builds', to='crib.instrument'),
        ),
        migrations.AddField(
            model_name='machine',
            name='coolant_through',
            field=models.BooleanField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='machine',
            name='diameter_beside_max_um',
            field=models.PositiveIntegerField(blank=True, help_text='Largest diameter with both neighbouring pockets full.', null=True),
        ),
        migrations.AddField(
            model_name='machine',
            name='moment_max_mnm',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='machine',
            name='moment_plane_um',
            field=models.IntegerField(blank=True, help_text='Gauge line to the plane the moment is about, towards the tip; behind it: minus.', null=True),
        ),
        migrations.AddField(
            model_name='measurement',
            name='clock_deg',
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='measurement',
            name='measured_with',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='measurements', to='crib.instrument'),
        ),
        migrations.AddField(
            model_name='measurement',
            name='read_on',
            field=models.CharField(blank=True, choices=[('shank', 'Shank, round'), ('bar', 'Test bar'), ('flutes', 'Flutes'), ('nose', 'Nose of the holder')], max_length=6),
        ),
        migrations.AddField(
            model_name='measurement',
            name='readings_um',
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='measurement',
            name='uncertainty_um',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='buildpart',
            name='role',
            field=models.CharField(choices=[('holder', 'Holder'), ('collet', 'Collet'), ('nut', 'Nut'), ('pull_stud', 'Pull stud'), ('sleeve', 'Reduction sleeve'), ('cutter', 'Cutter'), ('insert', 'Insert')], max_length=10),
        ),
        migrations.AddConstraint(
            model_name='buildpart',
            constraint=models.CheckConstraint(condition=models.Q(('role__in', ['holder', 'collet', 'nut', 'pull_stud', 'sleeve', 'cutter', 'insert'])), name='part_role_known'),
        ),
        migrations.AddConstraint(
            model_name='measurement',
            constraint=models.CheckConstraint(condition=models.Q(('read_on__in', ['', 'shank', 'bar', 'flutes', 'nose'])), name='measurement_read_on_known'),
        ),
        migrations.AddConstraint(
            model_name='measurement',
            constraint=models.CheckConstraint(condition=models.Q(('clock_deg', None), models.Q(('clock_deg__lt', 360), ('quantity', 'runout')), _connector='OR'), name='measurement_clock_within_turn'),
        ),
        migrations.AddField(
            model_name='reclocking',
            name='act',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crib.act'),
        ),
        migrations.AddField(
            model_name='reclocking',
            name='build',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reclockings', to='assemblies.build'),
        ),
        migrations.AddField(
            model_name='reclocking',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='reclocking',
            name='measured_with',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reclockings', to='crib.instrument'),
        ),
        migrations.AddField(
            model_name='weighing',
            name='act',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crib.act'),
        ),
        migrations.AddField(
            model_name='weighing',
            name='build',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='weighings', to='assemblies.build'),
        ),
        migrations.AddField(
            model_name='weighing',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='weighing',
            name='measured_with',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='weighings', to='crib.instrument'),
        ),
        migrations.AddConstraint(
            model_name='reclocking',
            constraint=models.CheckConstraint(condition=models.Q(('turned__in', ['holder', 'collet', 'nut', 'pull_stud', 'sleeve', 'cutter', 'insert'])), name='reclocking_part_known'),
        ),
        migrations.AddConstraint(
            model_name='reclocking',
            constraint=models.CheckConstraint(condition=models.Q(('first_deg__lt', 360), ('second_deg__lt', 360)), name='reclocking_angles_within_turn'),
        ),
        migrations.AddConstraint(
            model_name='reclocking',
            constraint=models.CheckConstraint(condition=models.Q(('read_on__in', ['', 'shank', 'bar', 'flutes', 'nose'])), name='reclocking_read_on_known'),
        ),
        migrations.AddConstraint(
            model_name='weighing',
            constraint=models.CheckConstraint(condition=models.Q(('mass_g__gt', 0)), name='weighing_positive'),
        ),
        migrations.RunPython(_before.add, _before.drop),
        *guard_again("assemblies_measurement"),
        *guard_again("assemblies_build", update_when=MADE_BUILD_CHANGED),
        guard("assemblies_reclocking"),
        guard("assemblies_weighing"),
    ]
