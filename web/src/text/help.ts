// Help, and the three first tasks.
export const help = {
  title: 'Help',
  intro: 'The year sheet is where every question begins: leks down, the bird’s seven seasons across. The bar is the ground each season finds; the upright mark is what the birds need; what is missing is hatched.',
  first: 'Three first tasks',
  firstNote: 'They are made for the demonstration holding, and tick themselves off as you go.',
  demo: 'Open the demonstration holding',
  again: 'Begin anew',
  doneAll: 'All three done.',
  done: 'done',
  next: 'next',
  keys: 'Keys',
  words: 'What is meant',
  limits: 'It advises; it does not license. Burning, felling, drainage, work on protected sites, protected species and historic features need the local law, the code in force and competent people. A forecast of birds compares options; it is never a promise.',
  meanings: [
    ['Pinch', 'the season that is scarcest at a lek in the middle draw; work there first.'],
    ['Usable hectares', 'ground weighed by how well it serves the season and how near it lies to the lek.'],
    ['Draws', 'the ground worked out many times, each time with other values of what is not known for sure; the pale box on a bar holds four of five.'],
    ['A question mark', 'the draws disagree: fewer than nine in ten say the same, so it may be short or may be enough.'],
    ['As now', 'nothing done: what the ground becomes by itself.'],
    ['Option', 'a set of measures that is weighed against as now and other options.'],
    ['Must, should, consider', 'M: law, code or harm stands against it. S: good practice says otherwise. C: worth thinking about.'],
  ] as [string, string][],
}

export interface Task {
  key: string
  title: string
  steps: { key: string; words: string }[]
}

export const tasks: Task[] = [
  {
    key: 'pinch',
    title: 'See the pinch, and why',
    steps: [
      { key: 'cell', words: 'In the year sheet press the cell marked pinch of the first lek.' },
      { key: 'why', words: 'Read at the side why that season is short and what is lost.' },
      { key: 'mend', words: 'Press a numbered piece of ground that could mend it.' },
    ],
  },
  {
    key: 'wood',
    title: 'Have a wood suggested, and drag it',
    steps: [
      { key: 'option', words: 'Make an option: New option above the year sheet.' },
      { key: 'suggest', words: 'Measures, then Suggest beside the ragged native wood; wait until woods are put forward.' },
      { key: 'lay', words: 'Lay them. Trees take years: the ruler goes on to where they tell. Slide it to see the sheet follow.' },
      { key: 'drag', words: 'Press the wood on the ground, choose Reshape, and drag a corner: the sheet moves with the pen. Without a pointer: use the corners at the side.' },
      { key: 'laid', words: 'Lay the wood as it is now.' },
    ],
  },
  {
    key: 'ahead',
    title: 'Look at year 20 and write the hand-over',
    steps: [
      { key: 'year', words: 'Slide the years ruler under the ground to 20, or press ] until it is there.' },
      { key: 'room', words: 'Go to Hand-over.' },
      { key: 'write', words: 'Write it, and open a file from the list.' },
    ],
  },
]
