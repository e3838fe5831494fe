using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store.Papers;

namespace Contracts.Host.Papers;

/// <summary>
/// Where a paper goes: the HTML to a file with its data as JSON beside it, or to standard output, and a PDF. HTML and JSON are
/// what is kept; a PDF is only a print.
/// </summary>
internal sealed class PaperOutput
{
    private readonly string? file;
    private readonly string? pdf;
    private readonly Chromium? printer;

    /// <summary>Looks at what was asked for before anything is issued.</summary>
    public PaperOutput(string? file, string? pdf)
    {
        (this.file, this.pdf) = (file, pdf);
        if (file is not null && file != "-" && Path.GetExtension(file) is ".json" or "")
        {
            throw new UsageException("--out needs a name that ends like receipt.html; the data go beside it, ending in .json.");
        }

        if (pdf is not null) { printer = Chromium.Find(); }
    }

    /// <summary>Whether the paper itself goes to standard output, so that nothing else may.</summary>
    public bool TakesStandardOutput => file == "-";

    public static Option<string?> Out() => new("--out") { Description = "A file for the HTML, with the data as JSON beside it; - is standard output." };

    public static Option<string?> Pdf() => new("--pdf") { Description = "A file for a PDF, printed by a Chromium where one is found." };

    public async Task WriteAsync(PaperAgain paper, CancellationToken stop)
    {
        var html = paper.Printed!.Bytes;
        if (TakesStandardOutput)
        {
            var output = Console.OpenStandardOutput();
            await using (output.ConfigureAwait(false)) { await output.WriteAsync(html, stop).ConfigureAwait(false); }
        }
        else if (file is not null)
        {
            await File.WriteAllBytesAsync(file, html, stop).ConfigureAwait(false);
            await File.WriteAllBytesAsync(Path.ChangeExtension(file, ".json"), paper.Data!, stop).ConfigureAwait(false);
        }

        if (printer is not null) { await printer.PrintAsync(html, pdf!, stop).ConfigureAwait(false); }
    }
}
