using Contracts.Books.Packet;
using Contracts.Host.Terminal;
using Spectre.Console;

namespace Contracts.Host.MonthEnd;

/// <summary>Where a packet goes: the terminal or standard output, and a folder where one is named.</summary>
internal static class PacketOutput
{
    public static async Task WriteAsync(Packet packet, OutputFormat format, string? folder, CancellationToken stop)
    {
        if (folder is not null) { await WriteFilesAsync(packet, folder, stop).ConfigureAwait(false); }
        switch (format)
        {
            case OutputFormat.Table: PacketPrinter.Print(packet, AnsiConsole.Console); break;
            case OutputFormat.Csv:
                foreach (var report in packet.Reports)
                {
                    await Console.Out.WriteLineAsync($"# {report.Title}").ConfigureAwait(false);
                    await Console.Out.WriteAsync(System.Text.Encoding.UTF8.GetString(PacketCsv.Bytes(report))).ConfigureAwait(false);
                }

                break;
            default: await Console.Out.WriteAsync(System.Text.Encoding.UTF8.GetString(PacketJson.Bytes(packet))).ConfigureAwait(false); break;
        }
    }

    private static async Task WriteFilesAsync(Packet packet, string folder, CancellationToken stop)
    {
        Directory.CreateDirectory(folder);
        var name = Path.Combine(folder, packet.Month);
        await File.WriteAllBytesAsync($"{name}.json", PacketJson.Bytes(packet), stop).ConfigureAwait(false);
        await PacketCsv.WriteAsync(packet, folder, stop).ConfigureAwait(false);
        var workbook = File.Create($"{name}.xlsx");
        await using (workbook.ConfigureAwait(false)) { await PacketXlsx.WriteAsync(packet, workbook, stop).ConfigureAwait(false); }
        await Console.Error.WriteLineAsync($"The packet is in {Path.GetFullPath(folder)}.").ConfigureAwait(false);
    }
}
