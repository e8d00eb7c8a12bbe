using System.Text.Json;
using Deque.AxeCore.Commons;
using Microsoft.Playwright;

namespace Hourhinge.Tests.Host.Report;

/// <summary>What axe-core finds on an open page: violations as "rule: help: element", elements that it cannot decide
/// on, and names of the rules that passed.</summary>
internal sealed record AxeFindings(string Version, List<string> Violations, List<string> Undecided, List<string> Passed)
{
    private static readonly string _script = new BundledAxeScriptProvider().GetScript();
    private static readonly JsonSerializerOptions _json = new(JsonSerializerDefaults.Web);

    /// <summary>Runs all rules, or one, in the page itself: a second page for the results costs seconds. Rules that
    /// pass name one place each, because to describe all of them takes most of axe's time.</summary>
    public static async Task<AxeFindings> Of(IPage page, string? rule)
    {
        await page.EvaluateAsync(_script);
        return JsonSerializer.Deserialize<AxeFindings>(await page.EvaluateAsync<string>(
            """
            async rule => {
              const found = await axe.run({ resultTypes: ['violations', 'incomplete'],
                ...(rule && { runOnly: [rule] }) });
              return JSON.stringify({ version: found.testEngine.version, passed: found.passes.map(p => p.id),
                violations: found.violations.map(v => `${v.id}: ${v.help}: ${v.nodes[0].html}`),
                undecided: found.incomplete.flatMap(i => i.nodes.map(n => n.html)) });
            }
            """, rule), _json)!;
    }
}
