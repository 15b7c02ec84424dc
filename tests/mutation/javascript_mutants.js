// Small faults to plant in modules of the page, found on their syntax trees: `node javascript_mutants.js TYPESCRIPT CONFIG FILE…`
// prints a list of [file, start, end, text, kind]. Its like for the server: python_mutants.py.
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [, , typescript, config, ...files] = process.argv;
const from = (path) => import(pathToFileURL(resolve(typescript, path)).href);
const { API } = await from('dist/api/sync/api.js');
const { SyntaxKind: Kind } = await from('dist/ast/index.js');

const SWAPPED = {
  '<': ['<=', '>='],
  '<=': ['<', '>'],
  '>': ['>=', '<='],
  '>=': ['>', '<'],
  '===': ['!=='],
  '!==': ['==='],
};
const CALLS = { min: 'max', max: 'min', some: 'every', every: 'some', floor: 'ceil', ceil: 'floor' };
const ROUNDINGS = { ceilDiv: 'floorDiv', floorDiv: 'ceilDiv' };
const LEFT_OUT = ['filter', 'sort', 'slice'];
const NOT_CODE = [Kind.ImportDeclaration, Kind.ExportDeclaration, Kind.JSDoc];

/** Quotient rounded down, as text. */
const down = (a, b) =>
  `Number((BigInt(${a}) - (BigInt(${a}) % BigInt(${b}) + BigInt(${b})) % BigInt(${b})) / BigInt(${b}))`;

/** Faults of one file: [start, end, text, kind]. */
function faultsOf(tree) {
  const found = [];
  const startOf = (node) => node.getStart(tree);
  const text = (node) => tree.text.slice(startOf(node), node.end);
  const of = (node) => `(${text(node)})`;
  const put = (kind, node, ...texts) => {
    for (const each of texts) found.push([startOf(node), node.end, each, kind]);
  };

  const binary = (node) => {
    const [left, right, sign] = [of(node.left), of(node.right), text(node.operatorToken)];
    if (SWAPPED[sign]) put('comparison', node.operatorToken, ...SWAPPED[sign]);
    else if (sign === '&&' || sign === '||') {
      put('and/or', node, `(${left} ${sign === '&&' ? '||' : '&&'} ${right})`);
      put('operand', node, left, right);
    } else if (sign === '??') put('operand', node, left, right);
    else if (sign === '+') {
      put('sign', node.operatorToken, '-');
      put('term', node, left, right);
    } else if (sign === '-') {
      put('sign', node.operatorToken, '+');
      put('term', node, left, `(-${right})`);
    } else if (['*', '/', '%', '**'].includes(sign)) put('term', node, left, right);
    else if (sign === '+=' || sign === '-=' || sign === '*=')
      put('sign', node.operatorToken, sign === '-=' ? '+=' : '-=');
  };

  const call = (node) => {
    const called = node.expression;
    const method = called.kind === Kind.PropertyAccessExpression;
    const name = method ? text(called.name) : text(called);
    if (method && CALLS[name]) put('min/max', called.name, CALLS[name]);
    else if (method && LEFT_OUT.includes(name))
      put(name === 'sort' ? 'order' : 'filter', node, of(called.expression));
    else if (!method && ROUNDINGS[name] && node.arguments.length === 2) {
      const [a, b] = node.arguments.map(of);
      put('rounding', node, name === 'ceilDiv' ? down(a, b) : `(0 - ${down(`(-BigInt(${a}))`, b)})`);
    } else if (!method && name === 'ceilSqrt')
      put('rounding', node, `Math.floor(Math.sqrt(Number(${of(node.arguments[0])})))`);
  };

  const statement = (node) => put('statement', node, ';');
  const MAKERS = {
    [Kind.BinaryExpression]: binary,
    [Kind.CallExpression]: call,
    [Kind.PrefixUnaryExpression]: (node) => {
      const sign = tree.text[startOf(node)];
      if (sign === '!' || sign === '-') put(sign === '!' ? 'not' : 'sign', node, of(node.operand));
    },
    [Kind.NumericLiteral]: (node) => put('constant', node, `(${text(node)} + 1)`, `(${text(node)} - 1)`),
    [Kind.BigIntLiteral]: (node) => put('constant', node, `(${text(node)} + 1n)`, `(${text(node)} - 1n)`),
    [Kind.TrueKeyword]: (node) => put('constant', node, 'false'),
    [Kind.FalseKeyword]: (node) => put('constant', node, 'true'),
    [Kind.ConditionalExpression]: (node) => put('branch', node, of(node.whenTrue), of(node.whenFalse)),
    [Kind.IfStatement]: (node) => put('branch', node.expression, 'true', 'false'),
    [Kind.WhileStatement]: (node) => put('branch', node.expression, 'false'),
    [Kind.ForStatement]: (node) => put('loop', node.condition, 'false'),
    [Kind.ForOfStatement]: (node) => put('loop', node.expression, '[]'),
    [Kind.SpreadElement]: (node) => put('term', node.expression, '[]'),
    [Kind.SpreadAssignment]: (node) => put('term', node.expression, '{}'),
    [Kind.ExpressionStatement]: statement,
    [Kind.ContinueStatement]: statement,
    [Kind.BreakStatement]: statement,
  };

  const walk = (node) => {
    if (NOT_CODE.includes(node.kind)) return;
    MAKERS[node.kind]?.(node);
    node.forEachChild(walk);
  };
  walk(tree);
  return found;
}

const api = new API({ cwd: resolve('.') });
const [project] = api.updateSnapshot({ openProject: resolve(config) }).getProjects();
const found = files.flatMap((file) =>
  faultsOf(project.program.getSourceFile(resolve(file))).map((fault) => [file, ...fault]),
);
api.close();
process.stdout.write(JSON.stringify(found));
