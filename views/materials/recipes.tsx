import type { Version } from '../../server/materials/service/index.ts';
import { Empty } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act } from '../ui/verdict.tsx';

export function RecipesPage({ recipes, mayEdit }: { recipes: Version[]; mayEdit: boolean }) {
  return (
    <>
      <h1>Recipes</h1>
      <p class="soft narrow">
        What a bucket's dry glaze is made of, and so how heavy its particles are. The advice at the bucket is
        reckoned from it.
      </p>
      {recipes.length === 0 ? (
        <Empty title="No recipe yet">
          <p>A bucket needs one: a list of materials, or only the density of its dry glaze.</p>
          {mayEdit && <Act href="/recipes/new" label="Write the first recipe" />}
        </Empty>
      ) : (
        <>
          {mayEdit && (
            <p>
              <a class="plain" href="/recipes/new">
                New recipe
              </a>
            </p>
          )}
          <section class="panel narrow">
            <Table
              columns={[
                { label: 'Recipe', main: true },
                { label: 'Version', number: true, keepLabel: true },
                { label: 'Dry glaze', number: true, keepLabel: true },
                { label: 'Solubles' },
              ]}
              rows={recipes.map(({ recipeId, name, version, solidsDensity, hasSolubles }) => ({
                key: recipeId,
                cells: [
                  <a key="name" href={`/recipes/${recipeId}`}>
                    {name}
                  </a>,
                  version,
                  `${solidsDensity.toFixed(2)} g/cm³`,
                  hasSolubles ? 'has solubles' : '',
                ],
              }))}
            />
          </section>
        </>
      )}
    </>
  );
}
