using System.Text;
using Contracts.Books.Packet;
using Contracts.Host.Reconstruct;

namespace Contracts.Host.MonthEnd;

/// <summary>
/// The packet as comma-separated values (RFC 4180): one file a report, CRLF, UTF-8 without a mark. The header has the columns' ids
/// between <c>row</c> (line, subtotal or total, so that sums can be left out) and <c>evidence</c>. Figures are plain: 2026-09-30,
/// -1234.50. Text that a spreadsheet would take as a formula gets an apostrophe in front; figures never do.
/// </summary>
public static class PacketCsv
{
    private const string LineEnd = "\r\n";

    /// <summary>Writes one file a report into the folder, which is made if need be, and says which files.</summary>
    public static async Task<IReadOnlyList<string>> WriteAsync(Packet packet, string folder, CancellationToken stop)
    {
        Directory.CreateDirectory(folder);
        var files = new List<string>();
        foreach (var report in packet.Reports)
        {
            var file = Path.Combine(folder, FileName(packet, report));
            await File.WriteAllBytesAsync(file, Bytes(report), stop).ConfigureAwait(false);
            files.Add(file);
        }

        return files;
    }

    /// <summary>The file of a report, such as <c>2026-09-trial-balance.csv</c>.</summary>
    public static string FileName(Packet packet, Report report) => $"{packet.Month}-{report.Id}.csv";

    /// <summary>One report as a file's bytes.</summary>
    public static byte[] Bytes(Report report)
    {
        var text = new StringBuilder("row,").AppendJoin(',', report.Columns.Select(column => column.Id)).Append(",evidence").Append(LineEnd);
        foreach (var row in report.Rows)
        {
            text.Append(PacketJson.Word(row.Kind));
            foreach (var cell in row.Cells) { text.Append(',').Append(cell is Cell.Text words ? AccountCsv.Cell(words.Value) : cell.Plain); }
            text.Append(',').Append(AccountCsv.Cell(row.Evidence ?? "")).Append(LineEnd);
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }
}
