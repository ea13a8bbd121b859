# Widths, turning and triangles: cutting plans of sheets and of boards that are ripped.

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('materials', '0012_unsorted'),
    ]

    operations = [
        migrations.AddField(
            model_name='cuttingbuy',
            name='width_text',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='cuttinghand',
            name='width_text',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='cuttingneed',
            name='corner_text',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='cuttingneed',
            name='is_triangle',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='cuttingneed',
            name='may_turn',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='cuttingneed',
            name='width_text',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='cuttingplan',
            name='method',
            field=models.CharField(choices=[('lengths', 'Boards to length'), ('ripped', 'Boards ripped, then to length'), ('sheets', 'Sheets')], default='lengths', max_length=10),
        ),
        migrations.AddConstraint(
            model_name='cuttingplan',
            constraint=models.CheckConstraint(condition=models.Q(('method__in', ['lengths', 'ripped', 'sheets'])), name='cutting_method_known'),
        ),
    ]
