using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Contracts.Host.Terminal;
using Contracts.Store;

namespace Contracts.Host.Sealing;

/// <summary>The roots of time stamping authorities that this shop believes. None is built in: whom to believe is the shop's to say.</summary>
internal static class TsaRoots
{
    /// <summary>Names a PEM file of root certificates.</summary>
    public const string Variable = "CONTRACTS_TSA_ROOT";

    /// <summary>The roots of the file, else of the one that the environment names, or null.</summary>
    public static X509Certificate2Collection? Find(FileInfo? file)
    {
        var path = file?.FullName ?? (Environment.GetEnvironmentVariable(Variable) is { Length: > 0 } named ? named : null);
        if (path is null) { return null; }
        var roots = new X509Certificate2Collection();
        try
        {
            roots.ImportFromPemFile(path);
        }
        catch (CryptographicException broken)
        {
            throw new StoreException($"{path} has no certificates in PEM: {broken.Message}");
        }

        return roots.Count > 0 ? roots : throw new StoreException($"{path} has no certificates in PEM.");
    }

    /// <summary>The same where there must be some.</summary>
    public static X509Certificate2Collection Require(FileInfo? file) =>
        Find(file) ?? throw new UsageException($"Give the authority's root certificate by --tsa-root or {Variable}: a stamp by anybody proves nothing.");
}
