using System.Net;
using System.Text;
using Contracts.Seals;
using NodaTime.Text;

namespace Contracts.Store.Dossiers;

/// <summary>The dossier for people: one page without a script, from the same events as every other file.</summary>
internal static class DossierPage
{
    private const string Head = """
        <!doctype html>
        <html lang="en"><head><meta charset="utf-8"><title>Dossier</title>
        <style>
        body { font: 11pt/1.4 Georgia, serif; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; color: #111; }
        h1 { font-size: 1.5rem; font-weight: normal; } h2 { font-size: 1.1rem; margin-top: 1.6rem; }
        table { border-collapse: collapse; width: 100%; } th, td { text-align: left; padding: .15rem .4rem; border-bottom: 1px solid #bbb; vertical-align: top; }
        td.n { text-align: right; font-variant-numeric: tabular-nums; } caption { text-align: left; font-style: italic; }
        .late { color: #555; }
        </style></head><body>

        """;

    public static byte[] Html(DossierParts parts, DossierReplay replay, byte[] state)
    {
        var request = parts.Request;
        var html = new StringBuilder(Head);
        html.Append($"<h1>Contract {Text(request.Contract)}</h1>\n");
        html.Append($"<p>As of the end of {LocalDatePattern.Iso.Format(request.On)}, as known at {InstantPattern.ExtendedIso.Format(request.Known)}. ");
        html.Append($"Asked for by {Text(request.By)}: {Text(request.Purpose)}. README.txt says how to check this dossier and what it does not prove.</p>\n");
        html.Append("<p><strong>Rent-to-own rules vary by state, and counsel decides what a state's act asks for. Not legal, tax or accounting advice.</strong></p>\n");
        html.Append("<h2>Figures</h2>\n<table><caption>As known then</caption><tr><th scope=\"col\">figure</th><th scope=\"col\">value</th></tr>\n");
        foreach (var (name, value) in DossierDiff.Flat(state)) { html.Append($"<tr><td>{Text(name)}</td><td class=\"n\">{Text(value)}</td></tr>\n"); }
        html.Append("</table>\n<h2>Events</h2>\n<table><caption>All that is recorded of the contract; what was learned later is marked</caption>");
        html.Append("<tr><th scope=\"col\">on</th><th scope=\"col\">recorded</th><th scope=\"col\">event</th><th scope=\"col\">key</th><th scope=\"col\">by</th></tr>\n");
        foreach (var entry in replay.All.Entries)
        {
            var late = entry.At > request.Known;
            html.Append($"<tr{(late ? " class=\"late\"" : "")}><td>{LocalDatePattern.Iso.Format(entry.Event.On)}</td><td>{InstantPattern.General.Format(entry.At)}</td>");
            html.Append($"<td>{Text(EventNames.Of(entry.Event).Replace('_', ' '))}{(late ? " (learned later)" : "")}</td>");
            html.Append($"<td>{Text(entry.Key)}</td><td>{Text(entry.Actor ?? "")}</td></tr>\n");
        }

        html.Append("</table>\n");
        Papers(html, parts);
        Family(html, parts);
        html.Append("</body></html>\n");
        return Encoding.UTF8.GetBytes(html.ToString());
    }

    private static void Papers(StringBuilder html, DossierParts parts)
    {
        var issued = DossierSidesCheck.Issued(parts.Streams[0]).ToList();
        if (issued.Count == 0) { return; }
        html.Append("<h2>Papers</h2>\n<table><caption>What was given out, with SHA-256 of its bytes</caption>");
        html.Append("<tr><th scope=\"col\">as of</th><th scope=\"col\">paper</th><th scope=\"col\">SHA-256</th></tr>\n");
        foreach (var (version, paper) in issued)
        {
            var there = parts.Papers.Any(one => one.Version == version);
            var shown = there
                ? string.Create(System.Globalization.CultureInfo.InvariantCulture, $"<a href=\"../papers/{version:0000}.html\">{Text(paper.Kind)}</a>")
                : $"{Text(paper.Kind)} (not here)";
            html.Append($"<tr><td>{LocalDatePattern.Iso.Format(paper.On)}</td><td>{shown}</td><td>{Text(paper.Digest)}</td></tr>\n");
        }

        html.Append("</table>\n");
    }

    private static void Family(StringBuilder html, DossierParts parts)
    {
        if (parts.Disclosures.IsEmpty) { return; }
        html.Append("<h2>Told of the family</h2>\n<table><caption>Facts for this reader only; do not pass them on</caption>");
        html.Append("<tr><th scope=\"col\">fact</th><th scope=\"col\">value</th></tr>\n");
        foreach (var text in parts.Disclosures)
        {
            if (SaltedDisclosure.Parse(text).TryGet(out var fact, out _)) { html.Append($"<tr><td>{Text(fact.Name)}</td><td>{Text(fact.Value)}</td></tr>\n"); }
        }

        html.Append("</table>\n");
    }

    private static string Text(string text) => WebUtility.HtmlEncode(text);
}
