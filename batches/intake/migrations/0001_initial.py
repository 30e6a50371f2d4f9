
import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from haccp.new_tables import NewTables


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('lots', '0001_initial'),
        ('premises', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        NewTables(
            [
                migrations.CreateModel(
                    name='Supplier',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('name', models.CharField(max_length=120)),
                        ('kind', models.CharField(choices=[('own_herd', 'our own herd'), ('milk', 'supplier of milk'), ('ingredients', 'supplier of ingredients'), ('both', 'supplier of milk and ingredients')], max_length=12)),
                        ('contact', models.TextField(blank=True)),
                        ('approval', models.CharField(blank=True, max_length=120)),
                        ('added_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('retired_at', models.DateTimeField(blank=True, null=True)),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='suppliers', to='premises.premises')),
                    ],
                    options={
                        'ordering': ['name'],
                    },
                ),
                migrations.CreateModel(
                    name='MilkLot',
                    fields=[
                        ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='milk', serialize=False, to='lots.lot')),
                        ('species', models.CharField(choices=[('cow', 'cow'), ('goat', 'goat'), ('ewe', 'ewe'), ('buffalo', 'buffalo')], max_length=12)),
                        ('source', models.CharField(help_text='own herd, or the supplier', max_length=120)),
                        ('volume_l', models.FloatField()),
                        ('typed_volume', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('milked_from', models.DateTimeField(blank=True, null=True)),
                        ('milked_until', models.DateTimeField(blank=True, null=True)),
                        ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='milk', to='intake.supplier')),
                    ],
                ),
                migrations.CreateModel(
                    name='MilkCount',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('species', models.CharField(choices=[('cow', 'cow'), ('goat', 'goat'), ('ewe', 'ewe'), ('buffalo', 'buffalo')], max_length=12)),
                        ('quantity', models.CharField(choices=[('count_cfu', 'plate count at 30 °C'), ('somatic_cells', 'somatic cells')], max_length=16)),
                        ('sampled_on', models.DateField()),
                        ('value', models.FloatField()),
                        ('is_below', models.BooleanField(default=False)),
                        ('typed_text', models.CharField(max_length=80)),
                        ('typed_unit', models.CharField(max_length=16)),
                        ('laboratory', models.CharField(blank=True, max_length=120)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='intake.milkcount')),
                        ('premises', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='milk_counts', to='premises.premises')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='counts', to='intake.supplier')),
                    ],
                    options={
                        'ordering': ['sampled_on', 'recorded_at'],
                    },
                ),
                migrations.CreateModel(
                    name='IngredientLot',
                    fields=[
                        ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='ingredient', serialize=False, to='lots.lot')),
                        ('kind', models.CharField(choices=[('culture', 'starter culture'), ('mould', 'mould or ripening culture'), ('rennet', 'rennet'), ('calcium_chloride', 'calcium chloride'), ('salt', 'salt'), ('water', 'water'), ('packaging', 'packaging'), ('other', 'other ingredient')], max_length=16)),
                        ('name', models.CharField(max_length=120)),
                        ('supplier_lot', models.CharField(blank=True, max_length=80)),
                        ('expires_on', models.DateField(blank=True, null=True)),
                        ('quantity', models.CharField(choices=[('mass', 'by weight'), ('volume', 'by volume'), ('pieces', 'by the piece')], max_length=8)),
                        ('amount_si', models.FloatField()),
                        ('typed_amount', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('strength', models.FloatField(blank=True, null=True)),
                        ('strength_unit', models.CharField(blank=True, choices=[('IMCU/mL', 'IMCU per mL (or g)'), ('1:N', '1 : N (Soxhlet)')], max_length=8)),
                        ('bulk_density_g_per_ml', models.FloatField(blank=True, null=True)),
                        ('note', models.TextField(blank=True)),
                        ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='ingredients', to='intake.supplier')),
                    ],
                ),
                migrations.CreateModel(
                    name='Acceptance',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('decision', models.CharField(choices=[('accepted', 'accepted'), ('refused', 'refused')], max_length=8)),
                        ('reason', models.TextField(blank=True)),
                        ('decided_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('decided_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='acceptances', to='lots.lot')),
                    ],
                    options={
                        'ordering': ['decided_at'],
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('decision', 'refused'), _negated=True), models.Q(('reason', ''), _negated=True), _connector='OR'), name='a_refusal_has_a_reason')],
                    },
                ),
                migrations.CreateModel(
                    name='MilkFinding',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('kind', models.CharField(choices=[('temperature', 'temperature'), ('ph', 'pH'), ('titratable_acidity', 'titratable acidity'), ('fat', 'fat'), ('protein', 'protein'), ('casein', 'casein'), ('senses', 'smell and look'), ('residues', 'residue test')], max_length=20)),
                        ('value_si', models.FloatField(blank=True, null=True)),
                        ('answer', models.CharField(blank=True, choices=[('as it should be', 'as it should be'), ('not as it should be', 'not as it should be'), ('negative', 'negative'), ('positive', 'positive')], max_length=20)),
                        ('typed_text', models.CharField(blank=True, max_length=80)),
                        ('typed_unit', models.CharField(blank=True, max_length=16)),
                        ('observed_at', models.DateTimeField()),
                        ('expanded_uncertainty', models.FloatField(default=0.0)),
                        ('unfit', models.TextField(blank=True)),
                        ('note', models.TextField(blank=True)),
                        ('recorded_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('instrument', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='premises.instrument')),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='findings', to='lots.lot')),
                        ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ],
                    options={
                        'ordering': ['observed_at', 'recorded_at'],
                        'indexes': [models.Index(fields=['lot', 'kind'], name='intake_milk_lot_id_3095d1_idx')],
                        'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('answer', ''), ('value_si__isnull', False)), models.Q(('value_si__isnull', True), models.Q(('answer', ''), _negated=True)), _connector='OR'), name='a_finding_is_a_value_or_an_answer')],
                    },
                ),
                migrations.CreateModel(
                    name='StockChange',
                    fields=[
                        ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                        ('change_si', models.FloatField()),
                        ('typed_text', models.CharField(max_length=40)),
                        ('typed_unit', models.CharField(max_length=8)),
                        ('reason', models.TextField()),
                        ('changed_at', models.DateTimeField(default=django.utils.timezone.now)),
                        ('changed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                        ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='stock_changes', to='lots.lot')),
                    ],
                    options={
                        'ordering': ['changed_at'],
                        'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='a_change_of_stock_has_a_reason')],
                    },
                ),
                migrations.AddConstraint(
                    model_name='supplier',
                    constraint=models.UniqueConstraint(fields=('premises', 'name'), name='supplier_names_are_unique', violation_error_message='There is already a supplier of this name here.'),
                ),
                migrations.AddConstraint(
                    model_name='milklot',
                    constraint=models.CheckConstraint(condition=models.Q(('volume_l__gt', 0)), name='milk_has_a_volume'),
                ),
                migrations.AddIndex(
                    model_name='milkcount',
                    index=models.Index(fields=['premises', 'supplier', 'sampled_on'], name='intake_milk_premise_2e4bc8_idx'),
                ),
                migrations.AddConstraint(
                    model_name='milkcount',
                    constraint=models.CheckConstraint(condition=models.Q(('value__gt', 0)), name='a_count_is_above_zero'),
                ),
                migrations.AddConstraint(
                    model_name='milkcount',
                    constraint=models.CheckConstraint(condition=models.Q(('corrects__isnull', True), models.Q(('note', ''), _negated=True), _connector='OR'), name='a_corrected_count_says_why'),
                ),
                migrations.AddConstraint(
                    model_name='ingredientlot',
                    constraint=models.CheckConstraint(condition=models.Q(('amount_si__gt', 0)), name='an_ingredient_has_an_amount'),
                ),
            ]
        )
    ]
