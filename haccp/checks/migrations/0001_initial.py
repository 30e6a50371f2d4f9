
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0001_initial'),
        ('lots', '0001_initial'),
        ('plan', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Absence',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('first', models.DateField()),
                        ('last', models.DateField()),
                        ('note', models.CharField(blank=True, max_length=200)),
                        ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('membership', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='absences', to='premises.membership')),
                        ('said_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('stand_in', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.membership')),
                    ],
                    options={
                        'ordering': ['-first'],
                    },
                ),
                migrations.CreateModel(
                    name='PlanningMark',
                    fields=[
                        ('premises', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='+', serialize=False, to='premises.premises')),
                        ('planned_until', models.DateTimeField()),
                        ('days_noted_until', models.DateField(blank=True, help_text='Days before this one that lack a review stand as DayLeftUnreviewed', null=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='DayLeftUnreviewed',
                    fields=[
                        ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                        ('day', models.DateField()),
                        ('premises', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['day'],
                        'constraints': [models.UniqueConstraint(fields=('premises', 'day'), name='a_day_is_left_unreviewed_once')],
                    },
                ),
                migrations.CreateModel(
                    name='SweepRun',
                    fields=[
                        ('name', models.CharField(max_length=40, primary_key=True, serialize=False)),
                        ('finished_at', models.DateTimeField()),
                        ('flagged', models.PositiveIntegerField(default=0)),
                        ('error', models.TextField(blank=True)),
                    ],
                ),
                migrations.CreateModel(
                    name='ClosedPeriod',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('without', models.CharField(choices=[('milk', 'no milk comes in, and no cheese is made'), ('making', 'no cheese is made; milk may come in')], max_length=8)),
                        ('first', models.DateField()),
                        ('last', models.DateField()),
                        ('reason', models.TextField()),
                        ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='closed_periods', to='premises.premises')),
                        ('said_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-first'],
                    },
                ),
                migrations.CreateModel(
                    name='FreeDay',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('day', models.DateField()),
                        ('is_free', models.BooleanField(default=True)),
                        ('name', models.CharField(blank=True, max_length=120)),
                        ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('said_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['day', 'said_at'],
                        'indexes': [models.Index(fields=['premises', 'day'], name='free_days_of_premises')],
                        'constraints': [models.CheckConstraint(condition=models.Q(('is_free', False), models.Q(('name', ''), _negated=True), _connector='OR'), name='a_free_day_has_a_name')],
                    },
                ),
                migrations.CreateModel(
                    name='DaySignature',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('day', models.DateField()),
                        ('meaning', models.CharField(choices=[('signed_off', 'signed off as complete'), ('reviewed', 'reviewed')], max_length=12)),
                        ('content_sha256', models.CharField(help_text='of the page as signed; a later change shows', max_length=64)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='day_signatures', to='premises.premises')),
                        ('signature', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.signature')),
                        ('signed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-day', 'meaning'],
                    },
                ),
                migrations.CreateModel(
                    name='DueCheck',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('slot_key', models.CharField(help_text="science.schedule.Slot.key, prefixed with the lot's id", max_length=160)),
                        ('opens_at', models.DateTimeField()),
                        ('due_at', models.DateTimeField()),
                        ('grace_ends_at', models.DateTimeField()),
                        ('settled_at', models.DateTimeField(blank=True, null=True)),
                        ('reason_wanted', models.BooleanField(default=False)),
                        ('check_due', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='due_checks', to='plan.check')),
                        ('lot', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='due_checks', to='lots.lot')),
                        ('premises', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='due_checks', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['due_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Keeper',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('check_key', models.UUIDField()),
                        ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('membership', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.membership')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('said_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name='MissedCheck',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('missed_at', models.DateTimeField()),
                        ('flagged_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('due', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='missed', to='checks.duecheck')),
                    ],
                    options={
                        'ordering': ['missed_at'],
                    },
                ),
                migrations.CreateModel(
                    name='MissedReason',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('text', models.TextField()),
                        ('given_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('given_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('missed', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='reason', to='checks.missedcheck')),
                    ],
                ),
                migrations.CreateModel(
                    name='PhotoFile',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kept', models.BinaryField()),
                        ('sent_sha256', models.CharField(max_length=64)),
                        ('kept_sha256', models.CharField(max_length=64)),
                        ('width', models.PositiveIntegerField()),
                        ('height', models.PositiveIntegerField()),
                        ('sent_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('sent_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-sent_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Record',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('expanded_uncertainty', models.FloatField(default=0.0, help_text='U (k = 2) in the unit of what was measured')),
                        ('instrument_unfit', models.TextField(blank=True, help_text='Why the instrument could not be relied on')),
                        ('trace_roles', models.JSONField(blank=True, default=dict, help_text='channel -> role, as confirmed by the person')),
                        ('observed_at', models.DateTimeField(help_text='When it was measured, as the person says')),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now, help_text='When the server received it')),
                        ('device_at', models.DateTimeField(blank=True, help_text="What the device's clock said on sending", null=True)),
                        ('note', models.TextField(blank=True)),
                        ('amend_reason', models.TextField(blank=True)),
                        ('amends', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='amended_by', to='checks.record')),
                        ('check_done', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='plan.check')),
                        ('due', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='records', to='checks.duecheck')),
                        ('instrument', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='records', to='premises.instrument')),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='records', to='lots.lot')),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='records', to='premises.place')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to=settings.AUTH_USER_MODEL)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['observed_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Reading',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('value_si', models.FloatField(blank=True, null=True)),
                        ('choice', models.TextField(blank=True)),
                        ('typed_text', models.CharField(blank=True, max_length=80)),
                        ('typed_unit', models.CharField(blank=True, max_length=16)),
                        ('measure', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='plan.measure')),
                        ('photo', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='checks.photofile')),
                        ('record', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='checks.record')),
                    ],
                    options={
                        'ordering': ['measure__position'],
                    },
                ),
                migrations.AddField(
                    model_name='duecheck',
                    name='answered_by',
                    field=models.ForeignKey(blank=True, db_index=False, help_text='An extra check that was done before it was known that this one would be due', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='checks.record'),
                ),
                migrations.CreateModel(
                    name='Reopening',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('on', models.DateField()),
                        ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('period', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='reopening', to='checks.closedperiod')),
                        ('said_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name='RulingRow',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('ruling', models.CharField(choices=[('met', 'met'), ('close', 'close'), ('breached', 'breached'), ('unproven', 'unproven'), ('awaited', 'awaited')], max_length=10)),
                        ('margin', models.FloatField(blank=True, null=True)),
                        ('code', models.CharField(max_length=60)),
                        ('reason', models.TextField()),
                        ('facts', models.JSONField(default=dict)),
                        ('judged_by', models.CharField(help_text='evaluator and its version', max_length=60)),
                        ('limit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rulings', to='plan.criticallimit')),
                        ('record', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rulings', to='checks.record')),
                    ],
                    options={
                        'ordering': ['limit__statement'],
                    },
                ),
                migrations.CreateModel(
                    name='TraceFile',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('filename', models.CharField(max_length=200)),
                        ('sha256', models.CharField(max_length=64)),
                        ('raw_deflated', models.BinaryField()),
                        ('samples', models.BinaryField()),
                        ('started_at', models.DateTimeField()),
                        ('duration_s', models.FloatField()),
                        ('sample_count', models.PositiveIntegerField()),
                        ('roles', models.JSONField(help_text='channel -> product | air_space | other, as the file suggests')),
                        ('header', models.JSONField(default=dict)),
                        ('notes', models.JSONField(default=list)),
                        ('uploaded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='traces', to='lots.lot')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.premises')),
                        ('uploaded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-uploaded_at'],
                    },
                ),
                migrations.AddField(
                    model_name='record',
                    name='trace',
                    field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='records', to='checks.tracefile'),
                ),
                migrations.CreateModel(
                    name='BackAgain',
                    fields=[
                        ('absence', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='back', serialize=False, to='checks.absence')),
                        ('on', models.DateField()),
                        ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('said_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.AddConstraint(
                    model_name='absence',
                    constraint=models.CheckConstraint(condition=models.Q(('last__gte', models.F('first'))), name='an_absence_ends'),
                ),
                migrations.AddConstraint(
                    model_name='absence',
                    constraint=models.CheckConstraint(condition=models.Q(('stand_in__isnull', True), models.Q(('stand_in', models.F('membership')), _negated=True), _connector='OR'), name='nobody_stands_in_for_themselves'),
                ),
                migrations.AddConstraint(
                    model_name='closedperiod',
                    constraint=models.CheckConstraint(condition=models.Q(('last__gte', models.F('first'))), name='a_closed_period_ends_after_its_start'),
                ),
                migrations.AddConstraint(
                    model_name='daysignature',
                    constraint=models.UniqueConstraint(fields=('premises', 'day', 'meaning', 'content_sha256'), name='a_state_of_a_day_is_signed_once', violation_error_message='Somebody has already signed this day as it stands.'),
                ),
                migrations.AddIndex(
                    model_name='keeper',
                    index=models.Index(fields=['premises', 'check_key', '-said_at'], name='checks_keep_premise_25b320_idx'),
                ),
                migrations.AddConstraint(
                    model_name='reading',
                    constraint=models.UniqueConstraint(fields=('record', 'measure'), name='one_reading_per_measure_of_a_record'),
                ),
                migrations.AddIndex(
                    model_name='duecheck',
                    index=models.Index(condition=models.Q(('settled_at__isnull', True)), fields=['grace_ends_at'], name='unsettled_by_grace'),
                ),
                migrations.AddIndex(
                    model_name='duecheck',
                    index=models.Index(fields=['premises', 'due_at'], name='checks_duec_premise_7974d2_idx'),
                ),
                migrations.AddIndex(
                    model_name='duecheck',
                    index=models.Index(condition=models.Q(('lot__isnull', False)), fields=['lot'], name='due_checks_of_a_lot'),
                ),
                migrations.AddIndex(
                    model_name='duecheck',
                    index=models.Index(condition=models.Q(('answered_by__isnull', False)), fields=['answered_by'], name='answered_by_an_extra'),
                ),
                migrations.AddIndex(
                    model_name='duecheck',
                    index=models.Index(condition=models.Q(('reason_wanted', True)), fields=['premises'], name='missed_and_no_reason'),
                ),
                migrations.AddConstraint(
                    model_name='duecheck',
                    constraint=models.UniqueConstraint(fields=('check_due', 'slot_key'), name='a_check_falls_due_once_per_slot'),
                ),
                migrations.AddConstraint(
                    model_name='rulingrow',
                    constraint=models.UniqueConstraint(fields=('record', 'limit'), name='one_ruling_per_limit_of_a_record'),
                ),
                migrations.AddIndex(
                    model_name='record',
                    index=models.Index(fields=['premises', 'observed_at'], name='checks_reco_premise_62b0c8_idx'),
                ),
                migrations.AddIndex(
                    model_name='record',
                    index=models.Index(fields=['check_done', 'observed_at'], name='checks_reco_check_d_07bb2c_idx'),
                ),
                migrations.AddConstraint(
                    model_name='record',
                    constraint=models.UniqueConstraint(condition=models.Q(('amends__isnull', True)), fields=('due',), name='a_due_check_is_answered_once', violation_error_message='Somebody has already done this check.'),
                ),
                migrations.AddConstraint(
                    model_name='record',
                    constraint=models.CheckConstraint(condition=models.Q(('amends__isnull', True), models.Q(('amend_reason', ''), _negated=True), _connector='OR'), name='an_amendment_has_a_reason'),
                ),
            ]
        )
    ]
