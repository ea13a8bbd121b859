"""Changes of one act carry its mark; photos may wait in a pile, of no record yet.

Going back drops the photos that still wait there: no record of before can have them.
"""

from django.db import migrations, models


def drop_pile(apps, schema_editor):
    """Photos of nothing, which the constraint of before refuses."""
    photos = apps.get_model("materials", "Photo").objects
    photos.filter(purchase=None, conversion=None, price=None).delete()


class Migration(migrations.Migration):

    dependencies = [
        ('materials', '0011_members_gone'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='photo',
            name='photo_of_one_record',
        ),
        migrations.RunPython(migrations.RunPython.noop, drop_pile),
        migrations.AddField(
            model_name='change',
            name='act',
            field=models.CharField(blank=True, default='', max_length=16),
        ),
        migrations.AddIndex(
            model_name='change',
            index=models.Index(condition=models.Q(('act', ''), _negated=True), fields=['build', 'act', 'id'], name='change_of_act'),
        ),
        migrations.AddConstraint(
            model_name='photo',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('conversion', None), ('price', None), ('purchase__isnull', False)), models.Q(('conversion__isnull', False), ('price', None), ('purchase', None)), models.Q(('conversion', None), ('purchase', None)), _connector='OR'), name='photo_of_one_record'),
        ),
    ]
