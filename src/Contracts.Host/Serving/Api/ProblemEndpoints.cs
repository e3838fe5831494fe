using System.Collections.Frozen;
using System.ComponentModel;
using System.Globalization;
using System.Text;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;

namespace Contracts.Host.Serving.Api;

/// <summary>What each code means: where the type of a problem leads.</summary>
internal static class ProblemEndpoints
{
    private sealed record Meaning(string Code, int? Number, int Status, string Says, string? Rule, string? Retry);

    // The page of the documentation is the one place where refusals are explained; it comes with the program.
    private static readonly Lazy<FrozenDictionary<string, Meaning>> All = new(() =>
        Refusals().Concat(ApiProblems.All.Select(one => new Meaning(one.Code, null, one.Status, one.Says, null, null)))
            .ToFrozenDictionary(meaning => meaning.Code, StringComparer.Ordinal));

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet("/problems", () => Answers.Json(AccountPrinter.Json(json =>
        {
            json.WriteStartArray();
            foreach (var meaning in All.Value.Values.OrderBy(meaning => meaning.Code, StringComparer.Ordinal)) { Write(json, meaning); }
            json.WriteEndArray();
        }))).AllowAnonymous().WithTags("problems").WithName("problems").WithSummary("Every code that a problem may have, and what it means.");
        routes.MapGet("/problems/{code}", ([Description("A problem's code, such as contract-unknown.")] string code) =>
            All.Value.TryGetValue(code, out var meaning) ? Answers.Json(AccountPrinter.Json(json => Write(json, meaning))) : ApiProblems.RouteUnknown.Result())
            .AllowAnonymous().WithTags("problems").WithName("problem").WithSummary("What a problem's code means; the type of a problem leads here.");
    }

    private static void Write(Utf8JsonWriter json, Meaning meaning)
    {
        json.WriteStartObject();
        json.WriteString("code", meaning.Code);
        if (meaning.Number is { } number) { json.WriteNumber("number", number); }
        json.WriteNumber("status", meaning.Status);
        json.WriteString("says", meaning.Says);
        if (meaning.Rule is { } rule) { json.WriteString("rule", rule); }
        if (meaning.Retry is { } retry) { json.WriteString("retry", retry); }
        json.WriteEndObject();
    }

    /// <summary>The rows of docs/refusals.md: number, code, sentence, rule, status, retry.</summary>
    private static IEnumerable<Meaning> Refusals()
    {
        using var page = new StreamReader(typeof(ProblemEndpoints).Assembly.GetManifestResourceStream("refusals.md")!, Encoding.UTF8);
        while (page.ReadLine() is { } line)
        {
            var cells = line.Split('|', StringSplitOptions.TrimEntries);
            if (cells.Length < 8 || !int.TryParse(cells[1], NumberStyles.None, CultureInfo.InvariantCulture, out var number)) { continue; }
            yield return new Meaning(cells[2].Trim('`'), number, Problem.Status((RefusalCode)number), cells[3], cells[4], cells[6]);
        }
    }
}
