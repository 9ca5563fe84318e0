// Looks at pages in a browser: nothing is asked of anybody, nothing complained of, nothing
// wider than a telephone; no serious finding of an audit for accessibility; on A4 six
// pages at most, no figure cut, clean margins.
import { execFileSync } from 'node:child_process'
import { readFileSync, readdirSync } from 'node:fs'
import { dirname, join, basename } from 'node:path'
import { pathToFileURL } from 'node:url'
import puppeteer from 'puppeteer-core'

const here = dirname(process.argv[1])
const axe = readFileSync(join(here, 'node_modules/axe-core/axe.min.js'), 'utf8')
const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: process.getuid() === 0 ? ['--no-sandbox'] : [],
})
let faults = 0
const fault = (page, text) => { faults++; console.log(`${page}: ${text}`) }
const bare = (text) => text.replace(/\s+/g, '')

for (const path of process.argv.slice(2)) {
  const name = basename(path), url = pathToFileURL(path).href
  const page = await browser.newPage()
  page.on('console', (m) => fault(name, `console: ${m.text()}`))
  page.on('pageerror', (e) => fault(name, `error: ${e}`))
  page.on('dialog', (d) => { fault(name, `dialog: ${d.message()}`); d.dismiss() })
  page.on('request', (r) => { if (r.url() !== url) fault(name, `asks for ${r.url()}`) })
  for (const width of [360, 1100]) {
    await page.setViewport({ width, height: 800 })
    await page.goto(url)
    for (const wide of await page.evaluate((width) => [...document.querySelectorAll('body, body *')]
      .filter((e) => e.getBoundingClientRect().right > width + 0.5 || e.getBoundingClientRect().left < -0.5)
      .map((e) => `${e.tagName}: ${e.textContent.slice(0, 40)}`), width)) fault(name, `wider than ${width}: ${wide}`)
    await page.evaluate(axe)
    const { violations, passes } = await page.evaluate(() => axe.run({ resultTypes: ['violations'] }))
    if (passes.length < 10) fault(name, `the audit had only ${passes.length} rules to look at`)
    for (const v of violations) {
      const text = `${width}: ${v.impact}: ${v.id}: ${v.help}: ${v.nodes[0].html.slice(0, 100)}`
      if (['serious', 'critical'].includes(v.impact)) fault(name, text)
      else console.log(`${name}: ${text}`)
    }
  }
  const figures = await page.evaluate(() => [...document.querySelectorAll('figure')].map((f) => ({
    title: f.querySelector('h3').textContent, texts: [...f.querySelectorAll('svg text')].map((t) => t.textContent),
  })))
  if (figures.length === 0) fault(name, 'no figures')
  await page.goto(url)
  const pdf = path.replace(/html$/, 'pdf')
  await page.pdf({ path: pdf, format: 'A4' })
  await page.close()
  const pages = execFileSync('pdftotext', [pdf, '-'], { encoding: 'utf8' }).split('\f').slice(0, -1).map(bare)
  if (pages.length > 6) fault(name, `${pages.length} pages of A4`)
  for (const f of figures) {
    // A text may be broken by others that stand between its letters: of a whole figure next to none is.
    const on = pages.find((p) => p.includes(bare(f.title))) ?? ''
    const lost = f.texts.filter((t) => !on.includes(bare(t)))
    if (lost.length > 0) fault(name, `figure cut: ${f.title}: not on its page: ${lost.join(' | ')}`)
  }
  execFileSync('pdftoppm', ['-gray', '-r', '36', pdf, pdf])
  for (const image of readdirSync(here).filter((n) => n.startsWith(basename(pdf) + '-'))) {
    const data = readFileSync(join(here, image))
    const [head, width, height] = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(data.subarray(0, 30).toString('latin1'))
    const pixels = data.subarray(head.length), edge = 12 // of 17, which the margin is
    let ink = 0, all = 0
    pixels.forEach((v, i) => {
      const x = i % width, y = Math.floor(i / width)
      if (v < 200) { all++; if (x < edge || y < edge || x >= width - edge || y >= height - edge) ink++ }
    })
    if (ink > 0) fault(name, `${image}: ${ink} dots in the margin`)
    if (all < 500) fault(name, `${image}: hardly anything is printed`)
  }
  console.log(`${name}: ${readFileSync(path).length} bytes, ${pages.length} pages, ${figures.length} figures`)
}
await browser.close()
console.log(faults === 0 ? 'no faults' : `${faults} faults`)
process.exit(faults === 0 ? 0 : 1)
