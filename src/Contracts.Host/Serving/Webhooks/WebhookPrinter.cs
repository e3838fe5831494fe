using System.Globalization;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Webhooks;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>Webhooks as a table or as data; the secret is not even read for it.</summary>
internal static class WebhookPrinter
{
    public static void Print(IReadOnlyList<Webhook> hooks, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table:
                var table = AccountPrinter.Plain().AddColumns("id", "url", "events", "state", "told to", "waiting", "last error");
                foreach (var one in hooks)
                {
                    table.AddRow(
                        one.Id, Markup.Escape(one.Url), one.Events is null ? "all" : string.Join(' ', one.Events), Markup.Escape(StateInWords(one)),
                        one.Position.ToString(CultureInfo.InvariantCulture), one.Lag.ToString(CultureInfo.InvariantCulture),
                        one.LastErrorAt is { } at ? Markup.Escape($"{at:uuuu-MM-dd HH:mm}: {one.LastError}") : "");
                }

                AnsiConsole.Write(table);
                break;
            case OutputFormat.Csv:
                Console.Out.WriteLine("id,url,events,state,position,lag,attempts,nextAt,lastError,lastErrorAt,deliveredAt,pausedBecause,madeAt,madeBy");
                foreach (var one in hooks)
                {
                    Console.Out.WriteLine(string.Join(
                        ',', one.Id, AccountCsv.Cell(one.Url), one.Events is null ? "" : string.Join(' ', one.Events), State(one), one.Position, one.Lag, one.Attempts,
                        Iso(one.NextAt),
                        AccountCsv.Cell(one.LastError ?? ""), Iso(one.LastErrorAt), Iso(one.DeliveredAt), AccountCsv.Cell(one.PausedBecause ?? ""), Iso(one.MadeAt),
                        AccountCsv.Cell(one.MadeBy)));
                }

                break;
            case OutputFormat.Jsonl:
                foreach (var one in hooks) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, one))); }
                break;
            default:
                Console.Out.WriteLine(AccountPrinter.Json(json =>
                {
                    json.WriteStartArray();
                    foreach (var one in hooks) { Write(json, one); }
                    json.WriteEndArray();
                }));
                break;
        }
    }

    private static void Write(Utf8JsonWriter json, Webhook hook)
    {
        json.WriteStartObject();
        json.WriteString("id", hook.Id);
        json.WriteString("url", hook.Url);
        if (hook.Events is { } events)
        {
            json.WriteStartArray("events");
            foreach (var name in events) { json.WriteStringValue(name); }
            json.WriteEndArray();
        }
        else { json.WriteNull("events"); }

        json.WriteBoolean("allowPrivate", hook.AllowPrivate);
        json.WriteString("madeAt", Iso(hook.MadeAt));
        json.WriteString("madeBy", hook.MadeBy);
        json.WriteString("state", State(hook));
        json.WriteNumber("position", hook.Position);
        json.WriteNumber("lag", hook.Lag);
        json.WriteNumber("attempts", hook.Attempts);
        json.WriteString("nextAt", Iso(hook.NextAt));
        json.WriteString("lastError", hook.LastError);
        json.WriteString("lastErrorAt", Iso(hook.LastErrorAt));
        json.WriteString("deliveredAt", Iso(hook.DeliveredAt));
        json.WriteString("pausedBecause", hook.PausedBecause);
        json.WriteString("removedAt", Iso(hook.RemovedAt));
        json.WriteEndObject();
    }

    private static string State(Webhook hook) =>
        hook.RemovedAt is not null ? "removed" : hook.PausedBecause is not null ? "paused" : hook.NextAt is not null ? "waiting" : "good";

    private static string StateInWords(Webhook hook) => State(hook) switch
    {
        "paused" => $"paused: {hook.PausedBecause}",
        "waiting" => $"tried again {hook.NextAt!.Value:uuuu-MM-dd HH:mm} after {hook.Attempts}",
        var state => state,
    };

    private static string? Iso(Instant? at) => at is { } moment ? InstantPattern.ExtendedIso.Format(moment) : null;
}
