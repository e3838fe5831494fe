using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Seals;

namespace Contracts.Host.Sealing;

/// <summary>What a sealing did, as JSON or in words.</summary>
internal static class SealPrinter
{
    public static string Words(SealAlarm alarm) =>
        alarm.Stream is null ? $"{alarm.Kind}: {alarm.Detail}" : $"{alarm.Kind}: {alarm.Stream} {alarm.Version}: {alarm.Detail}";

    public static void Print(SealReport report, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, report)));
            return;
        }

        Console.Out.WriteLine($"{report.Events:N0} events sealed; the log has {report.Size:N0} leaves");
        foreach (var anchor in report.Anchors) { Console.Out.WriteLine($"anchor at leaf {anchor.Index:N0}{(anchor.Entry.Period is { } month ? $" for {month}" : "")}"); }
        if (report.Checkpoint is { } head) { Console.Out.Write($"\n{head.Note}"); }
        else { Console.Out.WriteLine("nothing is signed"); }
    }

    private static void Write(Utf8JsonWriter json, SealReport report)
    {
        json.WriteStartObject();
        json.WriteNumber("events", report.Events);
        json.WriteNumber("size", report.Size);
        json.WriteStartArray("anchors");
        foreach (var anchor in report.Anchors) { json.WriteRawValue(anchor.EntryBytes); }
        json.WriteEndArray();
        json.WritePropertyName("checkpoint");
        if (report.Checkpoint is { } head)
        {
            json.WriteStartObject();
            json.WriteNumber("size", head.Size);
            json.WriteString("root", head.Root.ToString());
            json.WriteString("note", head.Note);
            json.WriteEndObject();
        }
        else { json.WriteNullValue(); }

        json.WriteStartArray("alarms");
        foreach (var alarm in report.Alarms)
        {
            json.WriteStartObject();
            json.WriteString("kind", alarm.Kind);
            json.WriteString("stream", alarm.Stream);
            if (alarm.Version is { } version) { json.WriteNumber("version", version); } else { json.WriteNull("version"); }
            json.WriteString("detail", alarm.Detail);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
