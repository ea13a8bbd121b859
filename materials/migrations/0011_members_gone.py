"""Keys of second steps are sealed, and there may be passkeys.

The way back opens the keys again and drops the passkeys. A key that this server cannot open any
more gives way to one that nobody has: recovery codes go on, and no code is right.
"""

import base64
import secrets

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

# As materials/services/sealed.py does it when this was written.
MARK, INFO = "s1:", b"materials.sealed second factor"


def _box(secret):
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.kdf.hkdf import HKDF

    return AESGCM(HKDF(algorithm=SHA256(), length=32, salt=None, info=INFO).derive(secret.encode()))


def seal_keys(apps, schema_editor):
    """From base 32 as it is."""
    for row in apps.get_model("materials", "SecondFactor").objects.all():
        nonce = secrets.token_bytes(12)
        made = _box(settings.SECRET_KEY).encrypt(nonce, row.key.encode(), str(row.user_id).encode())
        row.key = MARK + base64.urlsafe_b64encode(nonce + made).decode()
        row.save(update_fields=["key"])


def open_keys(apps, schema_editor):
    """Back to base 32."""
    from cryptography.exceptions import InvalidTag

    for row in apps.get_model("materials", "SecondFactor").objects.all():
        raw = base64.urlsafe_b64decode(row.key.removeprefix(MARK))
        row.key = base64.b32encode(secrets.token_bytes(20)).decode()
        for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS):
            try:
                found = _box(secret).decrypt(raw[:12], raw[12:], str(row.user_id).encode())
            except InvalidTag:
                continue
            row.key = found.decode()
            break
        row.save(update_fields=["key"])


class Migration(migrations.Migration):

    dependencies = [
        ('materials', '0010_accounts'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name='accountevent',
            name='what',
            field=models.CharField(choices=[('signed in', 'Signed in'), ('wrong code', 'Right password, wrong code'), ('ended', 'Signed out elsewhere'), ('password', 'Password changed'), ('email', 'E-mail changed'), ('factor on', 'Second step turned on'), ('factor off', 'Second step turned off'), ('codes', 'New recovery codes made'), ('code used', 'Recovery code used'), ('passkey added', 'Passkey added'), ('passkey ended', 'Passkey removed'), ('passkey copied', 'Passkey refused: it may be a copy'), ('links ended', 'Share links ended')], max_length=20),
        ),
        migrations.AlterField(
            model_name='secondfactor',
            name='key',
            field=models.CharField(max_length=200),
        ),
        migrations.RunPython(seal_keys, open_keys),
        migrations.CreateModel(
            name='Passkey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60)),
                ('credential_id', models.CharField(max_length=1364, unique=True)),
                ('credential', models.TextField()),
                ('sign_count', models.BigIntegerField(default=0)),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='passkeys', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
    ]
