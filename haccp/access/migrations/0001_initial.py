
import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Pin',
                    fields=[
                        ('user', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='pin', serialize=False, to=settings.AUTH_USER_MODEL)),
                        ('hashed', models.CharField(max_length=200)),
                        ('wrong', models.PositiveSmallIntegerField(default=0)),
                        ('locked_until', models.DateTimeField(blank=True, null=True)),
                        ('set_at', models.DateTimeField()),
                    ],
                ),
                migrations.CreateModel(
                    name='Passkey',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=80)),
                        ('credential_id', models.BinaryField(max_length=1023, unique=True)),
                        ('public_key', models.BinaryField()),
                        ('sign_count', models.BigIntegerField(default=0)),
                        ('added_at', models.DateTimeField()),
                        ('last_used_at', models.DateTimeField(blank=True, null=True)),
                        ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='passkeys', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['added_at'],
                    },
                ),
                migrations.CreateModel(
                    name='VisitorLink',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('token_sha256', models.CharField(max_length=64, unique=True)),
                        ('last_opened_at', models.DateTimeField(blank=True, null=True)),
                        ('membership', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='visitor_link', to='premises.membership')),
                    ],
                ),
                migrations.CreateModel(
                    name='Invitation',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('email', models.EmailField(max_length=254)),
                        ('name', models.CharField(blank=True, max_length=120)),
                        ('role', models.CharField(choices=[('owner', 'owner'), ('maker', 'cheesemaker'), ('helper', 'helper'), ('reviewer', 'reviewer'), ('consultant', 'consultant'), ('inspector', 'inspector')], max_length=12)),
                        ('token_sha256', models.CharField(max_length=64, unique=True)),
                        ('invited_at', models.DateTimeField()),
                        ('expires_at', models.DateTimeField()),
                        ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                        ('accepted_at', models.DateTimeField(blank=True, null=True)),
                        ('invited_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('membership', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.membership')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='invitations', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['-invited_at'],
                        'constraints': [models.UniqueConstraint(condition=models.Q(('accepted_at__isnull', True), ('withdrawn_at__isnull', True)), fields=('premises', 'email'), name='one_open_invitation_per_address')],
                    },
                ),
            ]
        )
    ]
