"""What was read of a program now stands with its readings alone."""

import django.db.models.deletion
from django.db import migrations, models

from crib.models.append_only import guard_again

#: The file that was handed in stays; its readings may be made anew.
FILE_CHANGED = (
    "NEW.sha256 <> OLD.sha256 OR NEW.content <> OLD.content OR NEW.program_id <> OLD.program_id"
)


class Migration(migrations.Migration):
    dependencies = [("assemblies", "0005_move_readings")]

    operations = [
        migrations.RemoveConstraint(
            model_name='toolcall',
            name='tool_call_sequence_once',
        ),
        migrations.RemoveConstraint(
            model_name='tooluse',
            name='tool_use_once',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='block_count',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='complete',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='end_of_program',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='notes',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='program_number',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='program_title',
        ),
        migrations.RemoveField(
            model_name='programrevision',
            name='reader_version',
        ),
        migrations.RemoveField(
            model_name='toolcall',
            name='revision',
        ),
        migrations.RemoveField(
            model_name='tooluse',
            name='revision',
        ),
        migrations.AlterField(
            model_name='toolcall',
            name='reading',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tool_calls', to='assemblies.reading'),
        ),
        migrations.AlterField(
            model_name='tooluse',
            name='reading',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tool_uses', to='assemblies.reading'),
        ),
        migrations.AlterModelOptions(
            name='toolcall',
            options={'ordering': ['reading_id', 'sequence']},
        ),
        migrations.AlterModelOptions(
            name='tooluse',
            options={'ordering': ['reading_id', 'tool_number']},
        ),
        migrations.AddConstraint(
            model_name='toolcall',
            constraint=models.UniqueConstraint(fields=('reading', 'sequence'), name='tool_call_once_in_a_reading'),
        ),
        migrations.AddConstraint(
            model_name='tooluse',
            constraint=models.UniqueConstraint(fields=('reading', 'tool_number'), name='tool_use_once_in_a_reading'),
        ),
        *guard_again("assemblies_programrevision", update_when=FILE_CHANGED),
    ]
