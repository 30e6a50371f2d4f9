
import datetime
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('deviations', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Delivery',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('channel', models.CharField(choices=[('email', 'e-mail'), ('push', 'device')], max_length=8)),
                        ('due_at', models.DateTimeField()),
                        ('attempts', models.PositiveSmallIntegerField(default=0)),
                        ('last_error', models.TextField(blank=True)),
                        ('sent_at', models.DateTimeField(blank=True, null=True)),
                        ('given_up_at', models.DateTimeField(blank=True, null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='Wishes',
                    fields=[
                        ('membership', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='wishes', serialize=False, to='premises.membership')),
                        ('alerts_by_email', models.BooleanField(default=True, verbose_name='Alerts by e-mail')),
                        ('alerts_by_push', models.BooleanField(default=True, verbose_name='Alerts on my devices')),
                        ('digest_by_email', models.BooleanField(default=True, verbose_name='A digest of the day by e-mail')),
                        ('digest_at', models.TimeField(default=datetime.time(6, 30), verbose_name='When the digest is sent')),
                        ('quiet_from', models.TimeField(blank=True, default=datetime.time(21, 0), null=True, verbose_name='Quiet from')),
                        ('quiet_until', models.TimeField(blank=True, default=datetime.time(5, 30), null=True, verbose_name='Quiet until')),
                        ('wake_for_critical', models.BooleanField(default=False, verbose_name='Tell me of critical limits in quiet hours too')),
                        ('next_digest_at', models.DateTimeField(blank=True, db_index=True, null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='Alert',
                    fields=[
                        ('deviation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='alert', serialize=False, to='deviations.deviation')),
                        ('raised_at', models.DateTimeField()),
                        ('level', models.PositiveSmallIntegerField(default=0)),
                        ('next_level_at', models.DateTimeField(blank=True, db_index=True, null=True)),
                        ('taken_at', models.DateTimeField(blank=True, null=True)),
                        ('taken_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name='Sent',
                    fields=[
                        ('delivery', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='sent', serialize=False, to='notices.delivery')),
                        ('address', models.CharField(max_length=320)),
                        ('subject', models.CharField(max_length=200)),
                        ('sent_at', models.DateTimeField()),
                    ],
                ),
                migrations.CreateModel(
                    name='Notice',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('alert', 'alert'), ('digest', 'digest')], max_length=8)),
                        ('about', models.CharField(max_length=80)),
                        ('subject', models.CharField(max_length=200)),
                        ('text', models.TextField()),
                        ('path', models.CharField(help_text='The page that it leads to', max_length=200)),
                        ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('membership', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='notices', to='premises.membership')),
                    ],
                    options={
                        'ordering': ['-made_at'],
                    },
                ),
                migrations.AddField(
                    model_name='delivery',
                    name='notice',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deliveries', to='notices.notice'),
                ),
                migrations.CreateModel(
                    name='PushDevice',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('endpoint', models.URLField(max_length=1000)),
                        ('p256dh', models.CharField(max_length=200)),
                        ('auth', models.CharField(max_length=100)),
                        ('added_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('ended_at', models.DateTimeField(blank=True, null=True)),
                        ('membership', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='push_devices', to='premises.membership')),
                    ],
                ),
                migrations.AddField(
                    model_name='delivery',
                    name='device',
                    field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='notices.pushdevice'),
                ),
                migrations.CreateModel(
                    name='CalendarAddress',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('token_sha256', models.CharField(max_length=64, unique=True)),
                        ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('last_read_at', models.DateTimeField(blank=True, null=True)),
                        ('revoked_at', models.DateTimeField(blank=True, null=True)),
                        ('membership', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='calendar_addresses', to='premises.membership')),
                    ],
                    options={
                        'constraints': [models.UniqueConstraint(condition=models.Q(('revoked_at__isnull', True)), fields=('membership',), name='one_calendar_address_per_person')],
                    },
                ),
                migrations.AddConstraint(
                    model_name='notice',
                    constraint=models.UniqueConstraint(fields=('membership', 'about'), name='nobody_is_told_the_same_twice'),
                ),
                migrations.AddConstraint(
                    model_name='pushdevice',
                    constraint=models.UniqueConstraint(fields=('membership', 'endpoint'), name='a_browser_is_told_once'),
                ),
                migrations.AddIndex(
                    model_name='delivery',
                    index=models.Index(condition=models.Q(('given_up_at__isnull', True), ('sent_at__isnull', True)), fields=['due_at'], name='deliveries_that_wait'),
                ),
                migrations.AddConstraint(
                    model_name='delivery',
                    constraint=models.UniqueConstraint(condition=models.Q(('device__isnull', True)), fields=('notice', 'channel'), name='one_mail_for_a_notice'),
                ),
                migrations.AddConstraint(
                    model_name='delivery',
                    constraint=models.UniqueConstraint(condition=models.Q(('device__isnull', False)), fields=('notice', 'device'), name='one_push_for_a_notice_and_device'),
                ),
            ]
        )
    ]
