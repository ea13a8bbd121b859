"""Words of choices and names; nothing in the database changes."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("materials", "0005_held_photos"),
    ]

    operations = [
        migrations.AlterModelOptions(
            name="lifechoice",
            options={"ordering": ["-noted_on", "-pk"], "verbose_name": "lifetime cost comparison"},
        ),
        migrations.AlterField(
            model_name="importjob",
            name="kind",
            field=models.CharField(
                blank=True,
                choices=[
                    ("purchases", "Purchases"),
                    ("components", "Components the build needs"),
                    ("hours", "Hours of work"),
                    ("prices", "Price list of new material"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="importjob",
            name="state",
            field=models.CharField(
                choices=[
                    ("table", "Choose the table"),
                    ("columns", "Match the columns"),
                    ("checking", "Being read"),
                    ("checked", "To be checked"),
                    ("running", "Being imported"),
                    ("done", "Imported"),
                ],
                default="table",
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="importmapping",
            name="kind",
            field=models.CharField(
                choices=[
                    ("purchases", "Purchases"),
                    ("components", "Components the build needs"),
                    ("hours", "Hours of work"),
                    ("prices", "Price list of new material"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="importrow",
            name="state",
            field=models.CharField(
                choices=[
                    ("new", "Not checked yet"),
                    ("above", "Above the headings"),
                    ("ready", "Ready"),
                    ("fault", "To fix"),
                    ("skip", "Left out"),
                    ("done", "Imported"),
                ],
                default="new",
                max_length=6,
            ),
        ),
        migrations.AlterField(
            model_name="lifechoice",
            name="rate_kind",
            field=models.CharField(
                choices=[
                    ("real", "Above inflation (real)"),
                    ("nominal", "With inflation (nominal)"),
                ],
                default="real",
                max_length=8,
            ),
        ),
    ]
