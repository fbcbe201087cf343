// Validates a Data Package with the library of the people who wrote the
// standard: the descriptor against the published schemas of package and
// resources, every row of every table against its types and constraints, and
// every foreign key. Prints what it read as JSON; exits 1 with the errors.
// npm: datapackage 1.1.10. Run: node datapackage.js FOLDER/datapackage.json
const fs = require('fs')
const path = require('path')
const crypto = require('crypto')
const {Package, Profile} = require('datapackage')

async function main (file) {
  const p = await Package.load(file, {basePath: path.dirname(file), strict: true})
  const errors = p.errors.map(String)
  const tables = {}
  for (const r of p.resources) {
    const profile = await Profile.load(r.descriptor.profile)
    const checked = profile.validate(r.descriptor)
    if (!checked.valid) errors.push(r.name + ': ' + checked.errors.join('; '))
    const bytes = fs.readFileSync(path.join(path.dirname(file), r.descriptor.path))
    const sum = 'sha256:' + crypto.createHash('sha256').update(bytes).digest('hex')
    if (sum !== r.descriptor.hash || bytes.length !== r.descriptor.bytes) errors.push(r.name + ': bytes or hash differ')
    if (!r.tabular) continue
    try {
      await r.checkRelations()
      tables[r.name] = await r.read({keyed: true})
    } catch (e) {
      errors.push(r.name + ': ' + [e.message, ...(e.errors || [])].join('; '))
    }
  }
  if (errors.length) throw new Error(errors.join('\n'))
  console.log(JSON.stringify(tables))
}

main(process.argv[2]).catch(e => { console.error(e.message, (e.errors || []).map(String).join('\n')); process.exit(1) })
