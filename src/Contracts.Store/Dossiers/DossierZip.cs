using System.IO.Compression;
using Contracts.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>What is wrong with a dossier, in one word and a sentence; the words are public and stable (docs/dossier.md).</summary>
public sealed record DossierFault(string Code, string Detail);

/// <summary>Files in a ZIP whose bytes depend on nothing but the files: stored, in the order of their names, all of one date.</summary>
internal static class DossierZip
{
    /// <summary>Larger dossiers are refused before they are read.</summary>
    public const int Largest = 64 * 1024 * 1024;

    private const int MostFiles = 1000;

    private static readonly DateTimeOffset Date = new(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);

    public static byte[] Write(SortedDictionary<string, byte[]> files)
    {
        using var bytes = new MemoryStream();
        using (var zip = new ZipArchive(bytes, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach (var (name, content) in files)
            {
                var entry = zip.CreateEntry(name, CompressionLevel.NoCompression);
                entry.LastWriteTime = Date;
                using var stream = entry.Open();
                stream.Write(content);
            }
        }

        return bytes.ToArray();
    }

    /// <summary>Reads every file; a name that could leave a folder, or is there twice, is refused, and no more is read than is allowed.</summary>
    public static (SortedDictionary<string, byte[]>? Files, DossierFault? Fault) Read(byte[] bytes)
    {
        if (bytes.Length > Largest) { return (null, new DossierFault("too-large", $"A dossier has at most {Largest} bytes.")); }
        try
        {
            using var zip = new ZipArchive(new MemoryStream(bytes, writable: false), ZipArchiveMode.Read);
            if (zip.Entries.Count > MostFiles) { return (null, new DossierFault("too-large", $"A dossier has at most {MostFiles} files.")); }
            var files = new SortedDictionary<string, byte[]>(StringComparer.Ordinal);
            var left = (long)Largest;
            foreach (var entry in zip.Entries)
            {
                if (!IsName(entry.FullName)) { return (null, new DossierFault("name-refused", "A file's name is not one that a dossier has.")); }
                left -= entry.Length;
                if (left < 0) { return (null, new DossierFault("too-large", $"A dossier holds at most {Largest} bytes.")); }
                var content = new byte[entry.Length];
                using var stream = entry.Open();
                stream.ReadExactly(content);
                if (stream.ReadByte() >= 0) { return (null, new DossierFault("not-a-dossier", $"{entry.FullName} is longer than it says.")); }
                if (!files.TryAdd(entry.FullName, content)) { return (null, new DossierFault("name-refused", $"{entry.FullName} is there twice.")); }
            }

            return (files, null);
        }
        catch (Exception broken) when (broken is InvalidDataException or EndOfStreamException or IOException or ArgumentException or NotSupportedException or OverflowException)
        {
            return (null, new DossierFault("not-a-dossier", "The file is not a whole ZIP archive."));
        }
    }

    private static bool IsName(string name) =>
        name.Length is > 0 and <= 100 && !name.Contains("..", StringComparison.Ordinal) && name[0] != '/' && name[^1] != '/'
        && name.All(letter => char.IsAsciiLetterOrDigit(letter) || letter is '/' or '.' or '-' or '_');
}
