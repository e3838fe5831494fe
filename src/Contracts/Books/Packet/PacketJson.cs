using System.Buffers;
using System.Security.Cryptography;
using System.Text.Encodings.Web;
using System.Text.Json;
using NodaTime.Text;

namespace Contracts.Books.Packet;

/// <summary>
/// The packet for programs, and the form that counts: equal packets have the same bytes on every machine. UTF-8 without a mark, lines
/// end in LF, two spaces of indent, a fixed order, a line end at the end. Amounts are strings with two decimals, counts are numbers,
/// an empty cell, a missing note and missing evidence are null.
/// </summary>
public static class PacketJson
{
    private static readonly JsonWriterOptions Layout = new()
    {
        Indented = true,
        IndentCharacter = ' ',
        IndentSize = 2,
        NewLine = "\n",
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>The packet as a file's bytes.</summary>
    public static byte[] Bytes(Packet packet)
    {
        var buffer = new ArrayBufferWriter<byte>();
        using (var json = new Utf8JsonWriter(buffer, Layout)) { Write(json, packet); }
        buffer.Write("\n"u8);
        return buffer.WrittenSpan.ToArray();
    }

    /// <summary>The SHA-256 of <see cref="Bytes"/> in lower-case hex, as common tools print it for the file.</summary>
    public static string Digest(Packet packet) => Digest(Bytes(packet));

    /// <summary>The SHA-256 of some bytes in lower-case hex.</summary>
    public static string Digest(ReadOnlySpan<byte> bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes));

    /// <summary>Writes the packet as one JSON object.</summary>
    public static void Write(Utf8JsonWriter json, Packet packet)
    {
        json.WriteStartObject();
        json.WriteString("month", packet.Month);
        json.WriteString("known", InstantPattern.ExtendedIso.Format(packet.Known));
        json.WriteNumber("throughSequence", packet.ThroughSequence);
        json.WriteString("title", packet.Title);
        json.WriteStartArray("checks");
        foreach (var check in packet.Checks)
        {
            json.WriteStartObject();
            json.WriteString("name", check.Name);
            json.WriteBoolean("passed", check.Passed);
            json.WriteString("detail", check.Detail);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("reports");
        foreach (var report in packet.Reports) { Write(json, report); }
        json.WriteEndArray();
        json.WriteEndObject();
    }

    /// <summary>The name of a column's kind in files.</summary>
    public static string Word(ColumnKind kind) => kind switch
    {
        ColumnKind.Text => "text",
        ColumnKind.Date => "date",
        ColumnKind.Count => "count",
        ColumnKind.Money => "money",
        _ => throw new ArgumentOutOfRangeException(nameof(kind)),
    };

    /// <summary>The name of a row's kind in files.</summary>
    public static string Word(RowKind kind) => kind switch
    {
        RowKind.Line => "line",
        RowKind.Subtotal => "subtotal",
        RowKind.Total => "total",
        _ => throw new ArgumentOutOfRangeException(nameof(kind)),
    };

    private static void Write(Utf8JsonWriter json, Report report)
    {
        json.WriteStartObject();
        json.WriteString("id", report.Id);
        json.WriteString("title", report.Title);
        json.WriteString("note", report.Note);
        json.WriteStartArray("columns");
        foreach (var column in report.Columns)
        {
            json.WriteStartObject();
            json.WriteString("id", column.Id);
            json.WriteString("title", column.Title);
            json.WriteString("kind", Word(column.Kind));
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("rows");
        foreach (var row in report.Rows) { Write(json, report, row); }
        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, Report report, Row row)
    {
        json.WriteStartObject();
        json.WriteString("kind", Word(row.Kind));
        json.WriteStartObject("cells");
        for (var at = 0; at < row.Cells.Length; at++)
        {
            json.WritePropertyName(report.Columns[at].Id);
            switch (row.Cells[at])
            {
                case Cell.Empty: json.WriteNullValue(); break;
                case Cell.Count count: json.WriteNumberValue(count.Value); break;
                default: json.WriteStringValue(row.Cells[at].Plain); break;
            }
        }

        json.WriteEndObject();
        json.WriteString("evidence", row.Evidence);
        json.WriteEndObject();
    }
}
