"""Sessions that know whose they are, the log of an account, and its second step.

Sessions move over, and back, so that nobody is signed out by it; going back drops the rest.
"""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.db import migrations, models


def move_sessions(apps, schema_editor):
    """From Django's own table, with whose each is."""
    old = apps.get_model("sessions", "Session").objects.all()
    kept = apps.get_model("materials", "OpenSession").objects
    users = set(apps.get_model(settings.AUTH_USER_MODEL).objects.values_list("pk", flat=True))
    for row in old.filter(expire_date__gt=django.utils.timezone.now()).iterator():
        named = str(SessionStore().decode(row.session_data).get("_auth_user_id", ""))
        user = int(named) if named.isdecimal() and int(named) in users else None
        kept.create(
            session_key=row.session_key,
            session_data=row.session_data,
            expire_date=row.expire_date,
            user_id=user,
        )
    old.delete()


def move_back(apps, schema_editor):
    """To where the program of before looks for them."""
    kept = apps.get_model("sessions", "Session").objects
    for row in apps.get_model("materials", "OpenSession").objects.iterator():
        kept.update_or_create(
            session_key=row.session_key,
            defaults={"session_data": row.session_data, "expire_date": row.expire_date},
        )


class Migration(migrations.Migration):

    dependencies = [
        ('materials', '0009_ways_to_make'),
        ('sessions', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='AccountEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(choices=[('signed in', 'Signed in'), ('wrong code', 'Right password, wrong code'), ('ended', 'Signed out elsewhere'), ('password', 'Password changed'), ('email', 'E-mail changed'), ('factor on', 'Second step turned on'), ('factor off', 'Second step turned off'), ('codes', 'New recovery codes made'), ('code used', 'Recovery code used'), ('links ended', 'Share links ended')], max_length=20)),
                ('about', models.CharField(blank=True, max_length=300)),
                ('device', models.CharField(blank=True, max_length=60)),
                ('address', models.CharField(blank=True, max_length=45)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='events', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='OpenSession',
            fields=[
                ('session_key', models.CharField(max_length=40, primary_key=True, serialize=False, verbose_name='session key')),
                ('session_data', models.TextField(verbose_name='session data')),
                ('expire_date', models.DateTimeField(db_index=True, verbose_name='expire date')),
                ('device', models.CharField(blank=True, max_length=60)),
                ('address', models.CharField(blank=True, max_length=45)),
                ('started_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('used_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='sessions', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'session',
                'verbose_name_plural': 'sessions',
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='SecondFactor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=64)),
                ('last_step', models.BigIntegerField()),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('user', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='second_factor', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='RecoveryCode',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('salt', models.CharField(max_length=32)),
                ('digest', models.CharField(max_length=64)),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='recovery_codes', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.UniqueConstraint(fields=('user', 'digest'), name='one_recovery_code_once')],
            },
        ),
        migrations.RunPython(move_sessions, move_back),
    ]
