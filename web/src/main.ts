import { mount } from 'svelte'
import App from './App.svelte'
import './look.css'

const target = document.getElementById('desk')
if (target) mount(App, { target })
