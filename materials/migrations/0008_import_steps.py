"""Long sheets are copied in steps: one more state of an import, and nothing in the tables."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('materials', '0007_deadlines'),
    ]

    operations = [
        migrations.AlterField(
            model_name='importjob',
            name='state',
            field=models.CharField(choices=[('table', 'Choose the table'), ('keeping', 'Being copied'), ('columns', 'Match the columns'), ('checking', 'Being read'), ('checked', 'To be checked'), ('running', 'Being imported'), ('done', 'Imported')], default='table', max_length=10),
        ),
    ]
