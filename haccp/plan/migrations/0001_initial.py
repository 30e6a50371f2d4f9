
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
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='ControlPoint',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('kind', models.CharField(choices=[('ccp', 'critical control point'), ('prerequisite', 'prerequisite programme')], max_length=14)),
                        ('code', models.CharField(help_text='CCP 1, PRP 3', max_length=12)),
                        ('name', models.CharField(max_length=120)),
                        ('programme', models.CharField(blank=True, help_text='cleaning, pests, calibration ...', max_length=40)),
                        ('corrective_action', models.TextField(help_text='What the plan prescribes when the limit is not met')),
                        ('disposition', models.TextField(blank=True, help_text='What is done with the product made meanwhile')),
                        ('verification', models.TextField(blank=True)),
                        ('two_to_close', models.BooleanField(default=False, help_text='Whoever recorded a deviation does not close it alone')),
                    ],
                    options={
                        'ordering': ['code'],
                    },
                ),
                migrations.CreateModel(
                    name='Hazard',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('kind', models.CharField(choices=[('biological', 'biological'), ('chemical', 'chemical'), ('physical', 'physical'), ('allergen', 'allergen')], max_length=12)),
                        ('name', models.CharField(max_length=160)),
                        ('agent', models.CharField(blank=True, help_text='brucella, listeria_monocytogenes ...', max_length=60)),
                        ('likelihood', models.PositiveSmallIntegerField(default=1)),
                        ('severity', models.PositiveSmallIntegerField(default=1)),
                        ('significant', models.BooleanField()),
                        ('justification', models.TextField()),
                        ('acceptable_level', models.TextField(blank=True)),
                        ('control_measure', models.TextField(blank=True)),
                    ],
                    options={
                        'ordering': ['step__position', 'name'],
                    },
                ),
                migrations.CreateModel(
                    name='LibraryLoad',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=120)),
                        ('number', models.PositiveIntegerField(help_text='Edition')),
                        ('dated', models.DateField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('loaded_at', models.DateTimeField()),
                    ],
                    options={
                        'ordering': ['-loaded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='Check',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('name', models.CharField(max_length=120)),
                        ('how', models.TextField(blank=True, help_text='The method, in the words of the plan')),
                        ('who', models.CharField(blank=True, max_length=80)),
                        ('subject', models.CharField(choices=[('premises', 'the dairy'), ('place', 'a place'), ('milk', 'each milk lot'), ('batch', 'each batch')], max_length=10)),
                        ('instrument_kind', models.CharField(blank=True, choices=[('thermometer', 'thermometer'), ('recorder', 'temperature recorder'), ('ph_meter', 'pH meter'), ('hygrometer', 'hygrometer'), ('scale', 'scale'), ('test_kit', 'test kit')], max_length=16)),
                        ('cadence', models.JSONField(help_text='See haccp.science.schedule')),
                        ('window_before_s', models.PositiveIntegerField(default=3600)),
                        ('grace_s', models.PositiveIntegerField(default=3600)),
                        ('rests', models.CharField(choices=[('never', 'due all the year'), ('without_milk', 'rests while no milk comes in'), ('without_making', 'rests while no cheese is made')], default='never', help_text='In which closed periods it is not due', max_length=16)),
                        ('if_missed', models.CharField(choices=[('flagged', 'flagged, with a reason'), ('deviation', 'opens a deviation')], default='flagged', help_text='A missed check of a critical control point always opens a deviation', max_length=10)),
                        ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.place')),
                        ('control_point', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='checks', to='plan.controlpoint')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.CreateModel(
                    name='CriticalLimit',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('statement', models.CharField(help_text='The limit in words, as the CCP sheet prints it', max_length=240)),
                        ('quantity', models.CharField(max_length=40)),
                        ('evaluator', models.CharField(max_length=40)),
                        ('comparator', models.CharField(choices=[('at_least', 'at least'), ('at_most', 'at most'), ('between', 'between'), ('one_of', 'one of')], max_length=12)),
                        ('low', models.FloatField(blank=True, null=True)),
                        ('high', models.FloatField(blank=True, null=True)),
                        ('target_low', models.FloatField(blank=True, null=True)),
                        ('target_high', models.FloatField(blank=True, null=True)),
                        ('accepted', models.JSONField(blank=True, default=list)),
                        ('parameters', models.JSONField(blank=True, default=dict)),
                        ('unit', models.CharField(blank=True, max_length=16)),
                        ('source_document', models.CharField(blank=True, max_length=160)),
                        ('source_clause', models.CharField(blank=True, max_length=160)),
                        ('control_point', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='limits', to='plan.controlpoint')),
                    ],
                    options={
                        'ordering': ['control_point__code', 'statement'],
                    },
                ),
                migrations.AddField(
                    model_name='controlpoint',
                    name='hazards',
                    field=models.ManyToManyField(blank=True, related_name='control_points', to='plan.hazard'),
                ),
                migrations.CreateModel(
                    name='LibraryBlock',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('key', models.CharField(max_length=80)),
                        ('version', models.PositiveIntegerField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('content', models.JSONField()),
                        ('file', models.CharField(max_length=160)),
                        ('position', models.PositiveIntegerField()),
                        ('loaded_at', models.DateTimeField()),
                        ('replaced_at', models.DateTimeField(blank=True, null=True)),
                        ('section', models.CharField(choices=[('steps', 'process step'), ('controls', 'control'), ('families', 'cheese family'), ('questions', 'question')], max_length=10)),
                    ],
                    options={
                        'ordering': ['key', 'version'],
                        'abstract': False,
                        'constraints': [models.UniqueConstraint(fields=('section', 'key', 'version'), name='library_block_versions_are_unique'), models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('section', 'key'), name='library_block_one_current')],
                    },
                ),
                migrations.CreateModel(
                    name='LibraryDocument',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('key', models.CharField(max_length=80)),
                        ('version', models.PositiveIntegerField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('content', models.JSONField()),
                        ('file', models.CharField(max_length=160)),
                        ('position', models.PositiveIntegerField()),
                        ('loaded_at', models.DateTimeField()),
                        ('replaced_at', models.DateTimeField(blank=True, null=True)),
                        ('title', models.CharField(max_length=240)),
                        ('jurisdiction', models.CharField(max_length=8)),
                        ('known', models.CharField(help_text='read, secondary or memory', max_length=12)),
                        ('superseded_by', models.CharField(blank=True, max_length=80)),
                    ],
                    options={
                        'ordering': ['key', 'version'],
                        'abstract': False,
                        'constraints': [models.UniqueConstraint(fields=('key', 'version'), name='library_document_versions_are_unique'), models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('key',), name='library_document_one_current')],
                    },
                ),
                migrations.CreateModel(
                    name='LibraryHazard',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('key', models.CharField(max_length=80)),
                        ('version', models.PositiveIntegerField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('content', models.JSONField()),
                        ('file', models.CharField(max_length=160)),
                        ('position', models.PositiveIntegerField()),
                        ('loaded_at', models.DateTimeField()),
                        ('replaced_at', models.DateTimeField(blank=True, null=True)),
                        ('name', models.CharField(max_length=160)),
                        ('kind', models.CharField(max_length=12)),
                    ],
                    options={
                        'ordering': ['key', 'version'],
                        'abstract': False,
                        'constraints': [models.UniqueConstraint(fields=('key', 'version'), name='library_hazard_versions_are_unique'), models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('key',), name='library_hazard_one_current')],
                    },
                ),
                migrations.CreateModel(
                    name='LibraryValue',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('key', models.CharField(max_length=80)),
                        ('version', models.PositiveIntegerField()),
                        ('sha256', models.CharField(max_length=64)),
                        ('content', models.JSONField()),
                        ('file', models.CharField(max_length=160)),
                        ('position', models.PositiveIntegerField()),
                        ('loaded_at', models.DateTimeField()),
                        ('replaced_at', models.DateTimeField(blank=True, null=True)),
                        ('subject', models.CharField(db_index=True, max_length=24)),
                        ('title', models.CharField(max_length=240)),
                        ('jurisdictions', models.JSONField()),
                        ('document', models.CharField(max_length=80)),
                        ('clause', models.CharField(max_length=160)),
                        ('known', models.CharField(help_text='read, secondary or memory', max_length=12)),
                        ('force', models.CharField(max_length=12)),
                        ('effective_from', models.DateField(blank=True, null=True)),
                        ('effective_to', models.DateField(blank=True, null=True)),
                        ('superseded_by', models.CharField(blank=True, max_length=80)),
                    ],
                    options={
                        'ordering': ['key', 'version'],
                        'abstract': False,
                        'constraints': [models.UniqueConstraint(fields=('key', 'version'), name='library_value_versions_are_unique'), models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('key',), name='library_value_one_current')],
                    },
                ),
                migrations.CreateModel(
                    name='PlanRevision',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('number', models.PositiveIntegerField()),
                        ('scope_statement', models.TextField(blank=True)),
                        ('change_summary', models.TextField(blank=True)),
                        ('significant_from', models.PositiveSmallIntegerField(blank=True, help_text='A hazard is significant from this product of likelihood and severity', null=True)),
                        ('always_significant_severity', models.PositiveSmallIntegerField(blank=True, help_text='A hazard this severe is significant however unlikely', null=True)),
                        ('review_every_months', models.PositiveSmallIntegerField(default=12)),
                        ('records_reviewed_within', models.PositiveSmallIntegerField(default=7, help_text='Working days within which a second person reviews a day')),
                        ('drafted_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('effective_from', models.DateTimeField(blank=True, null=True)),
                        ('discarded_at', models.DateTimeField(blank=True, null=True)),
                        ('approval', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.signature')),
                        ('drafted_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='plan_revisions', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['-number'],
                    },
                ),
                migrations.CreateModel(
                    name='PlanReview',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('reviewed_at', models.DateTimeField()),
                        ('outcome', models.TextField()),
                        ('change_needed', models.BooleanField()),
                        ('signature', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.signature')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reviews', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['-reviewed_at'],
                    },
                ),
                migrations.CreateModel(
                    name='OpenJudgement',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('part_key', models.UUIDField(blank=True, null=True)),
                        ('question', models.TextField()),
                        ('answer', models.TextField(blank=True)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['question'],
                    },
                ),
                migrations.CreateModel(
                    name='Measure',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('position', models.PositiveSmallIntegerField()),
                        ('label', models.CharField(max_length=80)),
                        ('kind', models.CharField(choices=[('number', 'number'), ('answer', 'choice'), ('text', 'text'), ('photo', 'photograph'), ('scan', 'code of the place or batch'), ('recorder_file', 'recorder file')], max_length=14)),
                        ('quantity', models.CharField(blank=True, max_length=40)),
                        ('unit', models.CharField(blank=True, help_text='Unit offered first', max_length=16)),
                        ('choices', models.JSONField(blank=True, default=list)),
                        ('required', models.BooleanField(default=True)),
                        ('check_made', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='measures', to='plan.check')),
                        ('limits', models.ManyToManyField(blank=True, related_name='measures', to='plan.criticallimit')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['position'],
                    },
                ),
                migrations.CreateModel(
                    name='KeptDocument',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('name', models.CharField(max_length=160)),
                        ('kind', models.CharField(choices=[('document', 'document'), ('record', 'record')], max_length=12)),
                        ('kept_where', models.CharField(blank=True, max_length=160)),
                        ('responsible', models.CharField(blank=True, max_length=120)),
                        ('retention_days', models.PositiveIntegerField(blank=True, null=True)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['kind', 'name'],
                    },
                ),
                migrations.AddField(
                    model_name='hazard',
                    name='revision',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='hazards', to='plan.planrevision'),
                ),
                migrations.CreateModel(
                    name='FlowConfirmation',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('confirmed_on', models.DateField()),
                        ('note', models.TextField(blank=True)),
                        ('flow_sha256', models.CharField(max_length=64)),
                        ('signature', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.signature')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='flow_confirmations', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['-confirmed_on'],
                    },
                ),
                migrations.AddField(
                    model_name='criticallimit',
                    name='revision',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='limits', to='plan.planrevision'),
                ),
                migrations.AddField(
                    model_name='controlpoint',
                    name='revision',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='control_points', to='plan.planrevision'),
                ),
                migrations.AddField(
                    model_name='check',
                    name='revision',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='checks', to='plan.planrevision'),
                ),
                migrations.CreateModel(
                    name='Borrowed',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('part_key', models.UUIDField()),
                        ('field', models.CharField(blank=True, max_length=40)),
                        ('entry', models.CharField(blank=True, max_length=120)),
                        ('document', models.CharField(max_length=240)),
                        ('clause', models.CharField(blank=True, max_length=160)),
                        ('jurisdiction', models.CharField(blank=True, max_length=12)),
                        ('edition', models.CharField(blank=True, max_length=60)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['document', 'clause'],
                    },
                ),
                migrations.CreateModel(
                    name='ProcessStep',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('position', models.PositiveSmallIntegerField()),
                        ('name', models.CharField(max_length=80)),
                        ('kind', models.CharField(choices=[('reception', 'reception'), ('operation', 'operation'), ('storage', 'storage'), ('transport', 'transport'), ('packing', 'packing'), ('dispatch', 'dispatch'), ('disposal', 'disposal')], default='operation', max_length=12)),
                        ('description', models.TextField(blank=True)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['position'],
                    },
                ),
                migrations.AddField(
                    model_name='hazard',
                    name='step',
                    field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='hazards', to='plan.processstep'),
                ),
                migrations.CreateModel(
                    name='FlowLink',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('kind', models.CharField(choices=[('flow', 'flow'), ('branch', 'branch'), ('rework', 'rework'), ('waste', 'waste')], default='flow', max_length=8)),
                        ('label', models.CharField(blank=True, max_length=60)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                        ('end', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='links_in', to='plan.processstep')),
                        ('start', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='links_out', to='plan.processstep')),
                    ],
                    options={
                        'ordering': ['start__position', 'end__position'],
                    },
                ),
                migrations.CreateModel(
                    name='DecisionAnswers',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('tree', models.CharField(choices=[('codex_2022', 'CXC 1-1969 2022 Annex IV fig. 1'), ('codex_1997', 'CAC/RCP 1-1969 Rev. 3 (1997) and Rev. 4 (2003), diagram 2')], default='codex_2022', max_length=16)),
                        ('answers', models.JSONField(default=dict)),
                        ('reasons', models.TextField(blank=True)),
                        ('hazard', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='decisions', to='plan.hazard')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                        ('step', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='decisions', to='plan.processstep')),
                    ],
                    options={
                        'ordering': ['hazard__step__position', 'hazard__name', 'step__position'],
                    },
                ),
                migrations.AddField(
                    model_name='controlpoint',
                    name='step',
                    field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='control_points', to='plan.processstep'),
                ),
                migrations.CreateModel(
                    name='ControlMeasure',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('description', models.TextField()),
                        ('control_point', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='control_measures', to='plan.controlpoint')),
                        ('hazard', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='measures', to='plan.hazard')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                        ('step', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.processstep')),
                    ],
                    options={
                        'ordering': ['hazard__step__position', 'hazard__name', 'description'],
                    },
                ),
                migrations.CreateModel(
                    name='Product',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=120)),
                        ('code', models.CharField(help_text='Start of its batch codes', max_length=8)),
                        ('species', models.CharField(choices=[('cow', 'cow'), ('goat', 'goat'), ('ewe', 'ewe'), ('buffalo', 'buffalo')], max_length=12)),
                        ('treatment', models.CharField(choices=[('raw', 'raw'), ('thermised', 'thermised'), ('pasteurised', 'pasteurised')], max_length=12)),
                        ('family', models.CharField(blank=True, max_length=60)),
                        ('added_at', models.DateTimeField(blank=True, null=True)),
                        ('retired_at', models.DateTimeField(blank=True, null=True)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='products', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.AddField(
                    model_name='processstep',
                    name='products',
                    field=models.ManyToManyField(blank=True, help_text='None = all products', to='plan.product'),
                ),
                migrations.AddField(
                    model_name='criticallimit',
                    name='products',
                    field=models.ManyToManyField(blank=True, help_text='None = all products', to='plan.product'),
                ),
                migrations.AddField(
                    model_name='check',
                    name='products',
                    field=models.ManyToManyField(blank=True, help_text='None = all products', to='plan.product'),
                ),
                migrations.CreateModel(
                    name='ProductDescription',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('composition', models.TextField(blank=True)),
                        ('ph_low', models.FloatField(blank=True, null=True)),
                        ('ph_high', models.FloatField(blank=True, null=True)),
                        ('water_activity_high', models.FloatField(blank=True, null=True)),
                        ('salt_percent', models.FloatField(blank=True, null=True)),
                        ('moisture_percent', models.FloatField(blank=True, null=True)),
                        ('milk_fat_percent', models.FloatField(blank=True, null=True)),
                        ('ageing_days', models.PositiveSmallIntegerField(blank=True, null=True)),
                        ('ageing_temperature_c', models.FloatField(blank=True, null=True)),
                        ('herds_free', models.CharField(blank=True, choices=[('yes', 'yes'), ('no', 'no')], max_length=3)),
                        ('packaging', models.TextField(blank=True)),
                        ('shelf_life_days', models.PositiveSmallIntegerField(blank=True, null=True)),
                        ('storage', models.TextField(blank=True)),
                        ('storage_temperature_c', models.FloatField(blank=True, null=True)),
                        ('labelling', models.TextField(blank=True)),
                        ('allergens', models.JSONField(blank=True, default=list)),
                        ('intended_use', models.TextField(blank=True)),
                        ('vulnerable_consumers', models.TextField(blank=True)),
                        ('dispatch_every_days', models.FloatField(blank=True, null=True)),
                        ('product', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='descriptions', to='plan.product')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['product__name'],
                    },
                ),
                migrations.CreateModel(
                    name='ReviewOccasion',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('new_product', 'new product'), ('new_equipment', 'new equipment or process'), ('deviation_trend', 'trend of deviations'), ('published_limit', 'changed law or published limit'), ('complaint', 'complaint or illness'), ('new_knowledge', 'new knowledge of a hazard'), ('other', 'other reason')], max_length=20)),
                        ('description', models.TextField()),
                        ('occurred_at', models.DateTimeField()),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='review_occasions', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['occurred_at'],
                    },
                ),
                migrations.CreateModel(
                    name='ReviewTrigger',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('kind', models.CharField(choices=[('new_product', 'new product'), ('new_equipment', 'new equipment or process'), ('deviation_trend', 'trend of deviations'), ('published_limit', 'changed law or published limit'), ('complaint', 'complaint or illness'), ('new_knowledge', 'new knowledge of a hazard'), ('other', 'other reason')], max_length=20)),
                        ('description', models.TextField(blank=True)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['kind'],
                    },
                ),
                migrations.CreateModel(
                    name='RiskLevel',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('axis', models.CharField(choices=[('likelihood', 'likelihood'), ('severity', 'severity')], max_length=12)),
                        ('rank', models.PositiveSmallIntegerField()),
                        ('word', models.CharField(max_length=60)),
                        ('meaning', models.TextField(blank=True)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['axis', 'rank'],
                    },
                ),
                migrations.CreateModel(
                    name='StepMaterial',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('direction', models.CharField(choices=[('in', 'goes in'), ('out', 'comes out')], max_length=4)),
                        ('kind', models.CharField(choices=[('milk', 'milk'), ('ingredient', 'ingredient'), ('processing_aid', 'processing aid'), ('water', 'water, steam or ice'), ('packaging', 'packaging'), ('product', 'product'), ('by_product', 'by-product'), ('waste', 'waste')], max_length=16)),
                        ('name', models.CharField(max_length=80)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                        ('step', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='materials', to='plan.processstep')),
                    ],
                    options={
                        'ordering': ['step__position', 'direction', 'name'],
                    },
                ),
                migrations.CreateModel(
                    name='TeamMember',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('name', models.CharField(max_length=120)),
                        ('duty', models.CharField(blank=True, max_length=120)),
                        ('competence', models.TextField(blank=True)),
                        ('from_outside', models.BooleanField(default=False)),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.CreateModel(
                    name='Validation',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('kind', models.CharField(choices=[('law', 'set by law or an official code'), ('literature', 'published study or guidance'), ('study', 'own study'), ('trial', 'trial at this dairy'), ('history', 'records of this dairy')], max_length=12)),
                        ('statement', models.TextField()),
                        ('document', models.CharField(blank=True, max_length=240)),
                        ('performed_on', models.DateField(blank=True, null=True)),
                        ('performed_by', models.CharField(blank=True, max_length=120)),
                        ('control_point', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='validations', to='plan.controlpoint')),
                        ('limit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='validations', to='plan.criticallimit')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['control_point__code', 'document'],
                    },
                ),
                migrations.CreateModel(
                    name='Verification',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('origin', models.UUIDField(blank=True, editable=False, null=True)),
                        ('what', models.CharField(max_length=160)),
                        ('how', models.TextField(blank=True)),
                        ('who', models.CharField(blank=True, max_length=80)),
                        ('cadence', models.JSONField()),
                        ('control_point', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='verifications', to='plan.controlpoint')),
                        ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='plan.planrevision')),
                    ],
                    options={
                        'ordering': ['control_point__code', 'what'],
                    },
                ),
                migrations.AddConstraint(
                    model_name='planrevision',
                    constraint=models.UniqueConstraint(fields=('premises', 'number'), name='revision_numbers_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='planrevision',
                    constraint=models.CheckConstraint(condition=models.Q(('approval__isnull', True), ('effective_from__isnull', False), _connector='OR'), name='approved_revision_has_a_start'),
                ),
                migrations.AddConstraint(
                    model_name='planrevision',
                    constraint=models.CheckConstraint(condition=models.Q(('approval__isnull', True), ('discarded_at__isnull', True), _connector='OR'), name='approved_revision_is_not_discarded'),
                ),
                migrations.AddConstraint(
                    model_name='measure',
                    constraint=models.UniqueConstraint(fields=('check_made', 'position'), name='measure_positions_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='flowlink',
                    constraint=models.UniqueConstraint(fields=('start', 'end', 'kind'), name='one_link_of_a_kind_between_two_steps'),
                ),
                migrations.AddConstraint(
                    model_name='flowlink',
                    constraint=models.CheckConstraint(condition=models.Q(('start', models.F('end')), _negated=True), name='no_step_follows_itself'),
                ),
                migrations.AddConstraint(
                    model_name='decisionanswers',
                    constraint=models.UniqueConstraint(fields=('hazard', 'step'), name='one_determination_per_hazard_and_step'),
                ),
                migrations.AddConstraint(
                    model_name='controlpoint',
                    constraint=models.UniqueConstraint(fields=('revision', 'code'), name='control_point_codes_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='product',
                    constraint=models.UniqueConstraint(fields=('premises', 'name'), name='product_names_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='product',
                    constraint=models.UniqueConstraint(fields=('premises', 'code'), name='product_codes_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='processstep',
                    constraint=models.UniqueConstraint(fields=('revision', 'position'), name='step_positions_are_unique'),
                ),
                migrations.AddConstraint(
                    model_name='check',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('subject', 'place'), _negated=True), ('place__isnull', False), _connector='OR'), name='a_place_check_names_its_place'),
                ),
                migrations.AddConstraint(
                    model_name='productdescription',
                    constraint=models.UniqueConstraint(fields=('revision', 'product'), name='one_description_per_product'),
                ),
                migrations.AddIndex(
                    model_name='reviewoccasion',
                    index=models.Index(fields=['premises', 'occurred_at'], name='plan_review_premise_f4926b_idx'),
                ),
                migrations.AddConstraint(
                    model_name='risklevel',
                    constraint=models.UniqueConstraint(fields=('revision', 'axis', 'rank'), name='one_word_per_rank_of_risk'),
                ),
            ]
        )
    ]
