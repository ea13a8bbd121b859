"""Deadlines of offers and orders, the time zone of a build, and who is told of them how.

No date of before was one of these: nothing is moved, and going back drops what was stated.
"""

import django.db.models.deletion
import materials.fields
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('materials', '0006_words'),
    ]

    operations = [
        migrations.CreateModel(
            name='Alerts',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_hash', models.CharField(blank=True, max_length=64, null=True, unique=True)),
                ('made_at', models.DateTimeField(blank=True, null=True)),
                ('last_opened_at', models.DateTimeField(blank=True, null=True)),
                ('opened_count', models.PositiveIntegerField(default=0)),
                ('wants_mail', models.BooleanField(default=False)),
                ('site', models.CharField(blank=True, max_length=200)),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Reminder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('due_at', models.DateTimeField()),
                ('claimed_at', models.DateTimeField()),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.RemoveIndex(
            model_name='purchase',
            name='purchase_list',
        ),
        migrations.AddField(
            model_name='build',
            name='time_zone',
            field=materials.fields.ZoneField(max_length=64),
        ),
        migrations.AddField(
            model_name='purchase',
            name='due_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='purchase',
            name='ends_on',
            field=models.DateField(blank=True, null=True, verbose_name='ends on'),
        ),
        migrations.AddField(
            model_name='purchase',
            name='ends_time',
            field=models.TimeField(blank=True, null=True, verbose_name='ends at'),
        ),
        migrations.AddField(
            model_name='purchase',
            name='fetch_on',
            field=models.DateField(blank=True, null=True, verbose_name='fetch by'),
        ),
        migrations.AddField(
            model_name='purchase',
            name='fetch_time',
            field=models.TimeField(blank=True, null=True, verbose_name='fetch by, at'),
        ),
        migrations.AddIndex(
            model_name='purchase',
            index=models.Index(fields=['build', 'bought_on', 'id', 'state', 'supplier', 'paid_by', 'number', 'line_count', 'unknown_count', 'landed_amount', 'due_at'], name='purchase_list'),
        ),
        migrations.AddIndex(
            model_name='purchase',
            index=models.Index(fields=['build', 'due_at', 'id'], name='purchase_due'),
        ),
        migrations.AddConstraint(
            model_name='purchase',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ends_on__isnull', False), ('ends_time__isnull', True), _connector='OR'), models.Q(('fetch_on__isnull', False), ('fetch_time__isnull', True), _connector='OR')), name='no_time_without_a_day'),
        ),
        migrations.AddField(
            model_name='alerts',
            name='member',
            field=models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='alerts', to='materials.member'),
        ),
        migrations.AddField(
            model_name='reminder',
            name='member',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='materials.member'),
        ),
        migrations.AddField(
            model_name='reminder',
            name='purchase',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='materials.purchase'),
        ),
        migrations.AddConstraint(
            model_name='alerts',
            constraint=models.CheckConstraint(condition=models.Q(('token_hash__isnull', True), ('made_at__isnull', False), _connector='OR'), name='calendar_address_has_a_day'),
        ),
        migrations.AddConstraint(
            model_name='reminder',
            constraint=models.UniqueConstraint(fields=('member', 'purchase', 'due_at'), name='one_reminder_per_deadline'),
        ),
    ]
