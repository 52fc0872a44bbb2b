// Mounts the screens, takes a one-time key or code out of the address, and starts the shell worker.

import { mount } from 'svelte';

import App from './App.svelte';
import { chosenLight, showLight } from './look/light';
import './look/type.css';
import './look/tokens.css';
import './look/sheet.css';
import './look/print.css';
import './shell/shell.css';
import { tellPage } from './habits/habits.svelte';
import { watchOutbox } from './keep/waiting.svelte';
import { afterFirstScreen } from './shell/first';
import { keyFromAddress } from './shell/session.svelte';
import { startShell } from './shell/version.svelte';

showLight(chosenLight());
tellPage();
const key = keyFromAddress();
watchOutbox();

const target = document.getElementById('app');
if (!target) throw new Error('the page has no place for the screens');
mount(App, { target, props: { key } });

if (import.meta.env.PROD) void afterFirstScreen().then(startShell);
