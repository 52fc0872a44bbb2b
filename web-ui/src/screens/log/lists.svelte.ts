// Sites, jobs, rooms, walls and people that a line may name, and where work most likely goes on.
import { tick } from 'svelte';

import { came } from '../../api/came.svelte';
import { shown } from '../../api/shown.svelte';
import { records } from '../../keep/records.svelte';
import type { EntryForm } from '../../model/day.form';
import { crew, field, jobsOf, likelyJob, Me, roomsOf, wallsOf, type ListedRecord } from '../../model/day.lists';
import { EntryPage, Today } from '../../model/day.shape';

/** Entries among which the last work at a site is looked for. */
const RECENT = 50;

export interface Lists {
  readonly sites: readonly ListedRecord[];
  readonly jobs: readonly ListedRecord[];
  readonly rooms: readonly ListedRecord[];
  readonly walls: readonly ListedRecord[];
  readonly people: readonly ListedRecord[];
  /** The records that the form has chosen. */
  readonly site: ListedRecord | null;
  readonly job: ListedRecord | null;
  readonly wall: ListedRecord | null;
  readonly hasNoSites: boolean;
  readonly areSitesUnseen: boolean;
  /** Site and job where work goes on, unless a person says otherwise. */
  readonly likelySite: string;
  readonly likelyJob: string;
  /** The newest lines at the chosen site. */
  readonly recent: EntryPage['items'];
  /** They are being fetched, and nothing of them was seen here before. */
  readonly isRecentAwaited: boolean;
  /** Ends when what names a line and finds its likely place is here: a line that is saved at once waits a moment for it. */
  came(): Promise<void>;
}

function byId(records: readonly ListedRecord[], id: string): ListedRecord | null {
  return records.find((one) => one.id === id) ?? null;
}

/** Follows the lists for `form()`. Call it while a component is set up. */
export function lists(form: () => EntryForm, thisDay: string): Lists {
  const sites = records(() => 'site');
  const jobs = records(() => 'job');
  const people = records(() => 'person');
  const rooms = records(() => 'room');
  const walls = records(() => 'assembly');
  const me = shown(() => '/api/session', Me);
  const last = shown(() => `/api/today?today=${thisDay}`, Today);
  const chosenSite = $derived(form().site);
  const recent = shown(() => (chosenSite === '' ? null : `/api/entries?site=${chosenSite}&limit=${RECENT}`), EntryPage);

  const siteJobs = $derived(jobsOf(jobs.items, chosenSite || null));
  const siteRooms = $derived(roomsOf(rooms.items, chosenSite));
  const wall = $derived(byId(walls.items, form().assembly));
  // A wall that a later version replaces is offered only where the line names it already.
  const jobWalls = $derived.by(() => {
    const own = wallsOf(walls.items, form().job);
    return wall && field(wall, 'job') === form().job && !own.includes(wall) ? [...own, wall] : own;
  });
  const crewed = $derived(crew(people.items, me.data?.person.id ?? null));

  return {
    get sites() {
      return sites.items;
    },
    get jobs() {
      return siteJobs;
    },
    get rooms() {
      return siteRooms;
    },
    get walls() {
      return jobWalls;
    },
    get people() {
      return crewed;
    },
    get site() {
      return byId(sites.items, chosenSite);
    },
    get job() {
      return byId(siteJobs, form().job);
    },
    get wall() {
      return wall;
    },
    get hasNoSites() {
      return sites.view.data !== null && sites.items.length === 0;
    },
    get areSitesUnseen() {
      return sites.view.data === null && sites.view.state !== 'loading' && sites.items.length === 0;
    },
    get likelySite() {
      return last.data?.sites[0]?.site.id ?? '';
    },
    get likelyJob() {
      const entries = last.data?.sites.find((one) => one.site.id === chosenSite)?.entries ?? [];
      const logged = [...[...entries].reverse(), ...(recent.data?.items ?? [])].map((entry) => entry.job?.id);
      return likelyJob(jobs.items, chosenSite || null, logged) ?? '';
    },
    async came() {
      await came([sites.view, jobs.view, last]);
      await tick();
      // The site may be filled in only now, and its last lines are asked for then.
      if (chosenSite !== '') await came([recent]);
      await tick();
    },
    get recent() {
      return recent.data?.items ?? [];
    },
    get isRecentAwaited() {
      return recent.data === null && recent.state === 'loading' && chosenSite !== '';
    },
  };
}
