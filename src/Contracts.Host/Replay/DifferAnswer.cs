using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Replays;

namespace Contracts.Host.Replay;

/// <summary>A cause, and where this build's rule and the event behind it can be looked at.</summary>
/// <param name="Cause">The cause.</param>
/// <param name="Rule">This build's rule behind its leading figure, or null.</param>
/// <param name="Explain">The command that opens the figure's tree, or null.</param>
/// <param name="Step">The command that shows the event, or null.</param>
public sealed record ToldCause(Cause Cause, string? Rule, string? Explain, string? Step);

/// <summary>Where two builds part, for a terminal, a program or a page.</summary>
/// <param name="Report">What was compared.</param>
/// <param name="Causes">Each cause, the most frequent first.</param>
public sealed record DifferAnswer(DifferReport Report, IReadOnlyList<ToldCause> Causes)
{
    /// <summary>Said wherever figures are.</summary>
    public const string Caution = "Rent-to-own disclosure rules vary by state; ask local counsel.";

    /// <summary>The answer; the rule of each cause is asked of this build.</summary>
    internal static async Task<DifferAnswer> OfAsync(DifferReport report, ReplaySource source, CancellationToken stop)
    {
        var causes = new List<ToldCause>();
        foreach (var cause in report.Groups.Causes)
        {
            var rule = await BuildDiffer.RuleAsync(source, cause, stop).ConfigureAwait(false);
            causes.Add(new ToldCause(
                cause, rule is null ? null : $"{rule.Says} [{rule.Citation}]", await BuildDiffer.ExplainAsync(source, cause, stop).ConfigureAwait(false),
                await BuildDiffer.StepAsync(source, cause.Amounts ?? cause.First, stop).ConfigureAwait(false)));
        }

        return new DifferAnswer(report, causes);
    }

    /// <summary>As JSON.</summary>
    public string Json() => AccountPrinter.Json(json => Write(json, Report, Causes));

    private static void Write(Utf8JsonWriter json, DifferReport report, IReadOnlyList<ToldCause> causes)
    {
        json.WriteStartObject();
        json.WriteBoolean("same", report.Same);
        json.WriteNumber("contracts", report.Contracts);
        json.WriteNumber("parted", report.Groups.Parted);
        json.WriteStartArray("causes");
        foreach (var (cause, rule, explain, step) in causes)
        {
            json.WriteStartObject();
            json.WriteNumber("count", cause.Count);
            json.WriteString("event", cause.First.Kind);
            json.WriteString("leading", cause.Leading);
            json.WriteString("rule", rule);
            json.WriteStartArray("contracts");
            foreach (var contract in cause.Contracts) { json.WriteStringValue(contract); }
            json.WriteEndArray();
            json.WritePropertyName("first");
            Write(json, cause.First, cause);
            json.WritePropertyName("amounts");
            if (cause.Amounts is { } amounts) { Write(json, amounts, null); } else { json.WriteNullValue(); }
            json.WriteString("explain", explain);
            json.WriteString("step", step);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteString("caution", Caution);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, FirstDifference first, Cause? cause)
    {
        json.WriteStartObject();
        json.WriteString("contract", first.Contract);
        json.WriteNumber("number", first.Number);
        json.WriteNumber("sequence", first.Sequence);
        json.WriteString("on", first.On);
        json.WriteStartArray("figures");
        foreach (var figure in first.Figures)
        {
            json.WriteStartObject();
            json.WriteString("figure", figure.Figure);
            json.WriteString("recorded", figure.Theirs);
            json.WriteString("now", figure.Ours);
            if (figure.By is { } by)
            {
                json.WriteString("by", FigureVector.Words(figure.Figure, by));
                if (cause is null)
                {
                    json.WriteEndObject();
                    continue;
                }

                var (least, most) = cause.Ranges[figure.Figure];
                json.WriteString("least", FigureVector.Words(figure.Figure, least));
                json.WriteString("most", FigureVector.Words(figure.Figure, most));
            }

            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
