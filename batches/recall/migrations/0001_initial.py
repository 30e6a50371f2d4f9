
import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('lots', '0001_initial'),
        ('premises', '0001_initial'),
        ('stock', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Recall',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('exercise', 'exercise'), ('real', 'real recall')], max_length=8)),
                        ('reason', models.TextField()),
                        ('repeat_after_days', models.PositiveSmallIntegerField(default=365)),
                        ('started_at', models.DateTimeField()),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='recalls', to='premises.premises')),
                        ('started_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['-started_at'],
                    },
                ),
                migrations.CreateModel(
                    name='RecallMark',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('chosen', 'lot chosen and all it reaches listed'), ('reached', 'customer reached'), ('note', 'note'), ('finished', 'finished')], max_length=8)),
                        ('reach', models.CharField(blank=True, choices=[('forward', 'what was made of it'), ('siblings', 'and all that shares its milk and ingredients'), ('implicated', 'and all that the deviations about it implicate')], max_length=10)),
                        ('note', models.TextField(blank=True)),
                        ('figures', models.JSONField(default=dict)),
                        ('at', models.DateTimeField()),
                        ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('customer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='recall_marks', to='stock.customer')),
                        ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='lots.lot')),
                        ('recall', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='marks', to='recall.recall')),
                    ],
                    options={
                        'ordering': ['at', 'id'],
                    },
                ),
                migrations.AddIndex(
                    model_name='recall',
                    index=models.Index(fields=['premises', '-started_at'], name='recall_reca_premise_560fda_idx'),
                ),
                migrations.AddConstraint(
                    model_name='recallmark',
                    constraint=models.UniqueConstraint(condition=models.Q(('kind', 'finished')), fields=('recall',), name='a_recall_is_finished_once'),
                ),
                migrations.AddConstraint(
                    model_name='recallmark',
                    constraint=models.UniqueConstraint(condition=models.Q(('kind', 'chosen')), fields=('recall',), name='a_recall_has_one_lot'),
                ),
                migrations.AddConstraint(
                    model_name='recallmark',
                    constraint=models.UniqueConstraint(condition=models.Q(('kind', 'reached')), fields=('recall', 'customer'), name='a_customer_is_reached_once'),
                ),
                migrations.AddConstraint(
                    model_name='recallmark',
                    constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'chosen'), ('lot__isnull', False)), models.Q(('kind', 'chosen'), _negated=True), _connector='OR'), name='what_is_chosen_is_a_lot'),
                ),
            ]
        )
    ]
